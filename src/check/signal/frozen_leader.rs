//! A leader whose readings stand still in mid-motion: its port was lost, and the follower was commanded
//! to stay.
//!
//! The commands recorded are not what the hand did, and the follower was made to wait for nothing.
//!
//! How: stretches in which not one reading of the leader changes, that begin or end with a jolt: a
//! joint was turning by 3 counts and 1 degree or more within 50 ms before the stretch, or is that
//! far off in the first frame after it. No hand stops or starts like that. The longest of them.
//!
//! Traps: a leader that is laid down is still as well, but comes to rest gradually. A hand that
//! holds still is never exactly still for long: it drifts by counts. A port that is lost while the
//! leader lies still cannot be distinguished from a pause.

use crate::check::prelude::{Check, Params, Study};
use crate::model::{CheckSpec, Family, FrameSpan, Metric, Sheet, SpanList, Unit};
use crate::num::runs::runs_alike;

/// Shorter stretches are not looked at.
const SHORTEST_S: f64 = 0.5;
const JOLT_S: f64 = 0.05;
const JOLT_DEG: f64 = 1.0;

static LEADER_FROZEN: Metric = Metric::of_episode(
    "leader_frozen",
    Unit::Second,
    "longest stretch with all of the leader's readings unchanged, begun or ended with a jolt",
)
.above(Some(2.0), None);

static SPEC: CheckSpec = CheckSpec {
    id: "frozen-leader",
    family: Family::Signal,
    applies_to: crate::model::SignalKind::MOVING,
    needs: crate::model::Relation::Steps,
    advisory: true,
    source: include_str!("frozen_leader.rs"),
    cause: "the leader's port was lost in mid-motion",
    remedy: "look at the leader's cable and port; record the episode again",
    reference: "common practice, no source",
    metrics: &[&LEADER_FROZEN],
    params: &[],
};

/// The check; the head of this file is its manual.
pub static CHECK: Check = Check::of_episode(&SPEC, measure);

fn measure(study: &Study<'_>, _: &Params, sheet: &mut Sheet) {
    let Some(period_s) = study.period_s() else { return sheet.not_assessed("no frame period") };
    let joints = study.joints().len();
    let leader: Vec<&[f32]> = (0..joints).filter_map(|joint| study.action(joint)).collect();
    if leader.is_empty() {
        return sheet.not_assessed("no leader column");
    }
    let smallest = ((SHORTEST_S / period_s) as usize).max(2);
    let reach = (JOLT_S / period_s).round().max(1.0) as usize;
    let jolt: Vec<f32> =
        (0..joints).map(|joint| study.at_least(joint, 3.0, JOLT_DEG) as f32).collect();
    let far = |a: usize, b: usize| {
        leader.iter().zip(&jolt).any(|(values, jolt)| (values[a] - values[b]).abs() >= *jolt)
    };
    let frames = study.episode.frames();
    let jolted = |&(start, end): &(usize, usize)| {
        (start > 0 && far(start.saturating_sub(reach), start))
            || (end < frames && far(end - 1, end))
    };
    let same = |a: usize, b: usize| leader.iter().all(|values| values[a] == values[b]);
    let spans: Vec<FrameSpan> = runs_alike(frames, smallest, same)
        .into_iter()
        .filter(jolted)
        .map(|(start, end)| FrameSpan::new(start, end))
        .collect();
    let longest = spans.iter().map(|span| span.frames() - 1).max().unwrap_or(0);
    sheet.put_spans(&LEADER_FROZEN, None, longest as f64 * period_s, SpanList::longest(spans));
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::testing::{Bench, sway};

    #[test]
    fn a_leader_that_stops_dead_is_found_with_its_length() {
        for rate_hz in [25.0, 30.0, 50.0, 100.0, 200.0] {
            let held =
                |joint: usize, t: f64| sway(joint, if (5.0..7.6).contains(&t) { 5.0 } else { t });
            let bench = Bench::at(rate_hz).seconds(15.0).leader(held).measure(&CHECK);
            let read = bench.value("leader_frozen");
            assert!((read - 2.6).abs() < 2.5 / rate_hz, "{rate_hz} Hz: {read}");
        }
    }

    #[test]
    fn a_leader_laid_down_gently_is_not_frozen() {
        for rate_hz in [25.0, 30.0, 50.0, 100.0, 200.0] {
            // A smooth way of 40 degrees in 1.2 s, 4 s of rest, and back.
            let way = |u: f64| {
                let u = u.clamp(0.0, 1.0);
                u * u * u * (10.0 + u * (6.0 * u - 15.0))
            };
            let laid = move |_: usize, t: f64| {
                let angle = 40.0 * (way((t - 2.0) / 1.2) - way((t - 7.2) / 1.2));
                (angle / 0.088).round() * 0.088f64.to_radians()
            };
            let bench = Bench::at(rate_hz).seconds(12.0).leader(laid).measure(&CHECK);
            assert_eq!(bench.value("leader_frozen"), 0.0, "{rate_hz} Hz");
        }
    }
}
