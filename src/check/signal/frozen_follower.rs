//! A follower whose readings stand still, all joints at once, while the leader moves on.
//!
//! For that long the state is a lie: the policy sees an arm that stands while the task goes on.
//!
//! How: stretches longer than three frames and longer than the lag and two frames in which no arm
//! joint's reading moves by more than a count, while the leader moves one of them by more than 10
//! degrees (20 mm). The leader is looked at from the lag before the stretch begins until the lag
//! and two frames before it ends, so that a follower which is merely about to start is not meant.
//!
//! With a lag of 80 ms it sees 0.5 s at 10 Hz, 0.35 s at 30 Hz, and 0.3 s from 100 to 1,000 Hz, where
//! the leader moves 10 degrees in that time less two frames.
//!
//! Traps: where the leader moves one joint alone (no other by 3 counts and 0.5 degrees), it may be that
//! joint's reading alone that holds: reading-held looks at it. The gripper is left out: it stands
//! while it holds. A joint that rests at its end of travel, or that something holds until the leader
//! comes back (see neutral offset: fingers on an object), does not speak for the arm. Where the lag is not known it is taken as 0.3 s.

use std::ops::Range;

use crate::check::prelude::{Check, Params, Study};
use crate::check::study::{Hold, range};
use crate::model::{CheckSpec, Family, FrameSpan, Metric, Sheet, SpanList, Unit};
use crate::num::runs::runs_alike;

const MOVED_DEG: f64 = 10.0;
/// Another joint must move too, or it may be one reading alone that holds.
const ALSO_DEG: f64 = 0.5;
const UNKNOWN_LAG_S: f64 = 0.3;

static FROZEN: Metric = Metric::of_episode(
    "frozen",
    Unit::Second,
    "longest stretch with all joints still while the leader moves on",
)
.above(Some(0.0), Some(0.5));

static SPEC: CheckSpec = CheckSpec {
    id: "frozen-follower",
    family: Family::Signal,
    applies_to: crate::model::SignalKind::MOVING,
    needs: crate::model::Relation::Motion,
    advisory: false,
    source: include_str!("frozen_follower.rs"),
    cause: "the follower was disconnected or its bus stopped",
    remedy: "relieve the cable's strain, use a powered hub; record the episode again",
    reference: "common practice, no source",
    metrics: &[&FROZEN],
    params: &[],
};

/// The check; the head of this file is its manual.
pub static CHECK: Check = Check::of_episode(&SPEC, measure);

fn measure(study: &Study<'_>, _: &Params, sheet: &mut Sheet) {
    let Some(period_s) = study.period_s() else { return sheet.not_assessed("no frame period") };
    if study.episode.action.is_none() {
        return sheet.not_assessed("no leader column");
    }
    let joints: Vec<usize> =
        (0..study.joints().len()).filter(|j| !study.joints()[*j].gripper).collect();
    let lag_s = study.following().overall_s.unwrap_or(UNKNOWN_LAG_S).max(0.0);
    let lag = (lag_s / period_s).round() as usize;
    let smallest = 3.max(lag + 2) + 1;
    let stretches = still(study, &joints, smallest);
    let frozen = stretches.into_iter().filter(|s| leader_moves(study, &joints, s, lag));
    let spans: Vec<FrameSpan> = frozen.map(|s| FrameSpan::new(s.start, s.end)).collect();
    let longest = spans.iter().map(|span| span.frames() - 1).max().unwrap_or(0);
    sheet.put_spans(&FROZEN, None, longest as f64 * period_s, SpanList::longest(spans));
}

/// Stretches of at least `smallest` frames in which no joint moves by more than a count.
fn still(study: &Study<'_>, joints: &[usize], smallest: usize) -> Vec<Range<usize>> {
    let frames = study.episode.frames();
    let signals: Vec<(&[f32], f32)> =
        joints.iter().map(|&j| (study.state(j), 1.01 * study.count(j) as f32)).collect();
    let same = |a: usize, b: usize| signals.iter().all(|(s, count)| (s[a] - s[b]).abs() <= *count);
    let runs = if signals.is_empty() { Vec::new() } else { runs_alike(frames, smallest, same) };
    runs.into_iter().map(|(start, end)| start..end).collect()
}

/// Whether the leader moves one of the joints far, and another too, while the follower ought to have
/// gone along.
fn leader_moves(study: &Study<'_>, joints: &[usize], still: &Range<usize>, lag: usize) -> bool {
    let (start, end) = (still.start.saturating_sub(lag), still.end.saturating_sub(lag + 2));
    if start + 1 >= end {
        return false;
    }
    let moved = |joint: usize| {
        study.action(joint).map_or(0.0, |leader| {
            let (low, high) = range(&leader[start..end]);
            f64::from(high - low)
        })
    };
    let far = |joint: &&usize| {
        moved(**joint) > study.size(**joint, MOVED_DEG)
            && !at_stop(study, **joint, still.start)
            && !in_contact(study, **joint, still)
    };
    let moves = |joint: &&usize| moved(**joint) > study.at_least(**joint, 3.0, ALSO_DEG);
    joints.iter().any(|joint| far(&joint))
        && (joints.len() == 1 || joints.iter().filter(moves).count() > 1)
}

/// Whether something holds a joint in these frames, and lets it go again.
fn in_contact(study: &Study<'_>, joint: usize, still: &Range<usize>) -> bool {
    let (Some(grid), Some(Some(traced))) = (study.grid(), study.traces().get(joint)) else {
        return false;
    };
    let row = |place: usize| grid.row(traced.trace.at[place] as usize);
    let within =
        |hold: &Hold| row(hold.points.start) < still.end && still.start < row(hold.points.end - 1);
    traced.holds.iter().any(|hold| hold.let_go && within(hold))
}

/// Whether a joint stands within three counts of an end of its travel.
fn at_stop(study: &Study<'_>, joint: usize, frame: usize) -> bool {
    let described = &study.joints()[joint];
    let place = f64::from(study.state(joint)[frame]);
    let near = 3.0 * study.count(joint);
    let (seen_low, seen_high) = described.observed.unwrap_or((f64::NEG_INFINITY, f64::INFINITY));
    place >= described.upper.unwrap_or(seen_high) - near
        || place <= described.lower.unwrap_or(seen_low) + near
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::testing::{Bench, sway};

    fn stopping(rate_hz: f64, seconds: f64) -> Bench {
        Bench::at(rate_hz).seconds(16.0).follower(move |joint, t| {
            let held = if (7.0..7.0 + seconds).contains(&t) { 7.0 } else { t };
            sway(joint, held - 0.08)
        })
    }

    #[test]
    fn a_follower_that_stands_is_found_with_its_length() {
        for rate_hz in [25.0, 30.0, 50.0, 100.0, 200.0] {
            let bench = stopping(rate_hz, 0.8).measure(&CHECK);
            let read = bench.value("frozen");
            assert!((read - 0.8).abs() < 2.5 / rate_hz, "{rate_hz} Hz: {read}");
        }
    }

    /// The shortest stretch that is seen at each rate, as the manual states it.
    #[test]
    fn it_sees_what_its_manual_says() {
        let stated = [(10.0, 0.5), (30.0, 0.35), (100.0, 0.3), (500.0, 0.3), (1000.0, 0.3)];
        for (rate_hz, seconds) in stated {
            let stopping = Bench::at(rate_hz).seconds(16.0).follower(move |joint, t| {
                let held = if (7.4..7.4 + seconds).contains(&t) { 7.4 } else { t };
                sway(joint, held - 0.08)
            });
            let read = stopping.measure(&CHECK).value("frozen");
            assert!(read > 0.0 && (read - seconds).abs() < 2.5 / rate_hz, "{rate_hz} Hz: {read}");
        }
    }

    #[test]
    fn a_follower_that_follows_is_not_frozen() {
        for rate_hz in [25.0, 30.0, 50.0, 100.0, 200.0] {
            // A pause of 4 s, then off again at once.
            let pause =
                |joint: usize, t: f64| sway(joint, if t < 8.0 { t.min(4.0) } else { t - 4.0 });
            for lag_s in [0.02, 0.08, 0.25] {
                let bench = Bench::at(rate_hz)
                    .seconds(16.0)
                    .leader(pause)
                    .follower(move |joint, t| pause(joint, t - lag_s))
                    .measure(&CHECK);
                assert_eq!(bench.value("frozen"), 0.0, "{rate_hz} Hz, {lag_s} s");
            }
        }
    }

    #[test]
    fn one_joint_that_holds_while_the_other_rests_is_not_the_whole_follower() {
        for rate_hz in [25.0, 100.0, 500.0] {
            let leader = |joint: usize, t: f64| if joint == 0 { sway(0, t) } else { 0.3 };
            let held = move |joint: usize, t: f64| {
                leader(joint, if (7.0..7.8).contains(&t) { 7.0 } else { t } - 0.08)
            };
            let bench = Bench::at(rate_hz).seconds(16.0).leader(leader).follower(held);
            assert_eq!(bench.measure(&CHECK).value("frozen"), 0.0, "{rate_hz} Hz");
        }
    }

    #[test]
    fn pushing_one_joint_on_at_its_stop_freezes_nothing() {
        let push = |joint: usize, t: f64| if joint == 0 { 0.02 * t.max(0.0) } else { 0.1 };
        let stop = move |joint: usize, t: f64| push(joint, t - 0.08).min(0.1);
        let bench = Bench::at(30.0)
            .seconds(20.0)
            .leader(push)
            .follower(stop)
            .rig(|rig| rig.joints[0].upper = Some(0.1))
            .measure(&CHECK);
        assert_eq!(bench.value("frozen"), 0.0);
    }
}
