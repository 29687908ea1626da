//! One joint's reading holds a value while the joint moves on, and then jumps to the true position.
//!
//! A failed read repeats the last value. For that long the state of one joint is wrong by what it
//! moved, and the policy sees a jump that no motor can make.
//!
//! How: runs of at least 0.12 s and 3 frames in which one joint repeats its reading to the last
//! bit. Meanwhile the leader, the joint's lag or that of all joints taken out, departs from where it
//! was by at least 3 degrees (6 mm) and 4 counts, and not only in the last frame. At the end the
//! reading jumps in one frame, by at least 1.5 degrees (3 mm), 4 counts and 1.5 times the leader's
//! step. It lands where the leader's motion puts it: within a quarter of the jump, a degree, and what
//! the leader moves in half a frame and 10 ms. Where the leader was at rest, the time counts from its
//! departure by 0.3 degrees. The check sees holds from 0.15 s at 20 Hz, 0.13 s at 30 Hz, and 0.12 s
//! from 100 to 1,000 Hz. Below 12 Hz it is not assessed: a finger that leaves an object jumps as well.
//!
//! Traps: a joint that is blocked, or has no torque, also stands still. It catches up over its time
//! constant, it does not land in one frame. A joint at a stop leaves it without a jump. A joint that
//! stands until the end of the episode does not jump either; tracking-loss looks at that. Where all
//! joints of the arm repeat while another leader moves by 3 degrees, frozen-follower is meant. Slow
//! motion under a coarse sensor jumps by one count. Shorter repeats are left to stale-readings.
//! Grippers are left out: they stand while they hold.

use crate::check::prelude::{Check, Params, Study};
use crate::check::study::range;
use crate::model::{CheckSpec, Family, FrameSpan, Joint, JointId, Metric, Sheet, SpanList, Unit};
use crate::num::bracket::held_before_step;
use crate::num::runs::runs_alike;

const SHORTEST_S: f64 = 0.12;
const FEWEST_REPEATS: usize = 3;
/// At longer periods a motion of half a second has fewer than six frames.
const SLOWEST_S: f64 = 1.0 / 12.0;
/// What the leader must move meanwhile, and the jump at the end.
const MOVED_DEG: f64 = 3.0;
const JUMP_DEG: f64 = 1.5;
const LEAST_COUNTS: f64 = 4.0;
/// From here on the leader has departed: beyond tremor.
const DEPARTED_DEG: f64 = 0.3;
/// The lag is known to about this, or to a frame.
const LAG_KNOWN_S: f64 = 0.03;

static HELD: Metric = Metric::of_joint(
    "held",
    Unit::Second,
    "longest stretch in which the joint's reading held a value and then jumped to the true one",
)
.above(None, Some(0.0));

static SPEC: CheckSpec = CheckSpec {
    id: "reading-held",
    family: Family::Signal,
    applies_to: crate::model::SignalKind::MOVING,
    needs: crate::model::Relation::Target,
    advisory: false,
    source: include_str!("reading_held.rs"),
    cause: "reads of this joint failed, and the last value was handed out again",
    remedy: "look at this servo's connector and return delay; log a failed read as missing. Leave \
             the frames out or record the episode again",
    reference: "rule as stated; limits by engineering judgement, no source",
    metrics: &[&HELD],
    params: &[],
};

/// The check; the head of this file is its manual.
pub static CHECK: Check = Check::of_episode(&SPEC, measure);

fn measure(study: &Study<'_>, _: &Params, sheet: &mut Sheet) {
    if let Some(reason) = study.no_leader() {
        return sheet.not_assessed(reason);
    }
    let Some(period_s) = study.period_s() else { return sheet.not_assessed("no frame period") };
    if period_s > SLOWEST_S {
        return sheet.not_assessed("at less than 12 Hz fast motion jumps like a reading that held");
    }
    for (joint, described) in study.joints().iter().enumerate() {
        if described.gripper_by_place {
            sheet.not_assessed_joint(joint, Joint::GRIPPER_BY_PLACE);
        }
        if described.gripper {
            continue;
        }
        let spans = held(study, joint, period_s);
        let longest = spans.iter().map(|span| span.frames()).max().unwrap_or(0);
        let at = Some(joint as JointId);
        sheet.put_spans(&HELD, at, longest as f64 * period_s, SpanList::longest(spans));
    }
}

/// Stretches in which a joint's reading holds while the leader moves on.
fn held(study: &Study<'_>, joint: usize, period_s: f64) -> Vec<FrameSpan> {
    let values = study.state(joint);
    let jump = study.at_least(joint, LEAST_COUNTS, JUMP_DEG) as f32;
    // Every run that counts ends with a jump from a reading that repeats.
    if study.steps().follower[joint] < jump || held_before_step(values, jump).is_empty() {
        return Vec::new();
    }
    let shortest = ((SHORTEST_S / period_s) as usize).max(FEWEST_REPEATS);
    let mut found = Vec::new();
    let mut pairs = None;
    for (start, end) in runs_alike(values.len(), shortest + 1, |a, b| values[a] == values[b]) {
        if end == values.len() || (values[end] - values[start]).abs() < jump {
            continue;
        }
        let pairs = pairs.get_or_insert_with(|| Pair::both(study, joint, period_s));
        let Some(from) = pairs.iter().find_map(|pair| pair.departed(start, end)) else { continue };
        // Where the leader was moving it departs at once; else it was at rest for a while.
        let from = if from - start <= 1 + shortest / 4 { start + 1 } else { from };
        if end - from >= shortest && !all_held(study, joint, start, end) {
            found.push(FrameSpan::new(from, end));
        }
    }
    found
}

/// One joint's readings and its leader's.
struct Pair<'a> {
    follower: &'a [f32],
    leader: &'a [f32],
    /// Rows by which the follower is later.
    lag: f64,
    /// Rows within which the lag is known.
    known: usize,
    /// Half a frame and 10 ms, in rows.
    slack: f64,
    jump: f64,
    moved: f64,
    degree: f64,
    departed: f64,
}

impl<'a> Pair<'a> {
    /// At the joint's own lag, which a long hold moves, and at that of all joints.
    fn both(study: &'a Study<'_>, joint: usize, period_s: f64) -> Vec<Self> {
        let following = study.following();
        let lags_s = [Some(following.lag_s(joint)), following.overall_s];
        let at = |lag_s: f64| Self::of(study, joint, period_s, lag_s);
        lags_s.into_iter().flatten().filter_map(at).collect()
    }

    fn of(study: &'a Study<'_>, joint: usize, period_s: f64, lag_s: f64) -> Option<Self> {
        Some(Self {
            follower: study.state(joint),
            leader: study.action(joint)?,
            lag: lag_s / period_s,
            known: (LAG_KNOWN_S / period_s).ceil().max(1.0) as usize,
            slack: 0.5 + 0.01 / period_s,
            jump: study.at_least(joint, LEAST_COUNTS, JUMP_DEG),
            moved: study.at_least(joint, LEAST_COUNTS, MOVED_DEG),
            degree: study.size(joint, 1.0),
            departed: study.at_least(joint, 2.0, DEPARTED_DEG),
        })
    }

    /// Where the leader puts the joint in this row.
    fn leader(&self, row: usize) -> f64 {
        let last = self.leader.len() - 1;
        let at = (row as f64 - self.lag).clamp(0.0, last as f64);
        let (before, part) = (at as usize, at.fract());
        let (a, b) = (self.leader[before], self.leader[(before + 1).min(last)]);
        f64::from(a) + part * f64::from(b - a)
    }

    /// The row from which on the reading, equal from `start` to before `end`, was wrong; `None` where
    /// the leader was not elsewhere, or the reading does not land where the leader was.
    fn departed(&self, start: usize, end: usize) -> Option<usize> {
        let origin = self.leader(start);
        let away = |row: usize| self.leader(row) - origin;
        let from = (start + 1..end).find(|row| away(*row).abs() > self.departed)?;
        let most = (from..end).map(|row| away(row).abs()).fold(0.0, f64::max);
        if most < self.moved {
            return None;
        }
        // Not only in the last frames: there a lag that is a little longer would explain it.
        let last = away(end - 1);
        let earlier = end - 1 - self.known.min((end - from) / 3).max(1);
        let speed = (self.leader(end + 1) - self.leader(end - 1)).abs() / 2.0;
        if last.abs() < self.jump.max(1.5 * speed)
            || (away(earlier) * last.signum()) < 0.4 * last.abs()
        {
            return None;
        }
        let (jump, expected) = (f64::from(self.follower[end] - self.follower[start]), away(end));
        let allowed = 0.25 * expected.abs() + self.degree + self.slack * speed;
        ((jump - expected).abs() <= allowed).then_some(from)
    }
}

/// Whether every other joint of the rows repeats as well while the leader moves one of them. A joint
/// may have been at rest before all of them held, so the first fifth does not count.
fn all_held(study: &Study<'_>, joint: usize, start: usize, end: usize) -> bool {
    let start = start + (end - start) / 5;
    let others = || {
        let joints = study.joints().iter().enumerate();
        joints.filter(|(other, described)| *other != joint && !described.gripper).map(|(at, _)| at)
    };
    let spread = |values: &[f32]| {
        let (low, high) = range(&values[start..end]);
        f64::from(high - low)
    };
    let moves = |other: usize| {
        study.action(other).is_some_and(|leader| spread(leader) > study.size(other, MOVED_DEG))
    };
    others().all(|other| spread(study.state(other)) == 0.0) && others().any(moves)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::testing::{Bench, sway};

    const RATES_HZ: [f64; 8] = [20.0, 25.0, 30.0, 50.0, 100.0, 200.0, 500.0, 1000.0];

    /// Joint 0 of a follower that is 80 ms late, as `read` makes it of the true position over time.
    fn bench(rate_hz: f64, read: impl Fn(&dyn Fn(f64) -> f64, f64) -> f64 + 'static) -> Bench {
        Bench::at(rate_hz).seconds(12.0).follower(move |joint, t| {
            let truth = |t: f64| sway(joint, t - 0.08);
            if joint == 0 { read(&truth, t) } else { truth(t) }
        })
    }

    /// A reading that holds for so long from 4.9 s on: the joint moves at 70 degrees a second.
    fn holding(rate_hz: f64, seconds: f64) -> Bench {
        let begins_s = (4.9 * rate_hz).floor() / rate_hz + 0.4 / rate_hz;
        bench(rate_hz, move |truth, t| {
            truth(if (begins_s..begins_s + seconds).contains(&t) { begins_s } else { t })
        })
    }

    #[test]
    fn a_reading_that_holds_is_found_with_joint_place_and_length() {
        for rate_hz in RATES_HZ {
            for seconds in [0.2, 0.5, 1.0, 2.0] {
                let read = holding(rate_hz, seconds).measure(&CHECK);
                let held_s = read.joint("held", 0);
                let off_s = (held_s - seconds).abs();
                assert!(off_s < 0.02 + 1.1 / rate_hz, "{rate_hz} Hz, {seconds} s: {held_s}");
                let spans = read.joint_spans("held", 0);
                let start_s = f64::from(spans[0].0) / rate_hz;
                let right = spans.len() == 1 && (start_s - 4.9).abs() < 0.02 + 2.1 / rate_hz;
                assert!(right, "{rate_hz} Hz, {seconds} s: {spans:?}");
                assert_eq!(read.joint("held", 1), 0.0, "{rate_hz} Hz");
            }
        }
    }

    /// The shortest hold that is seen at each rate, as the manual states it.
    #[test]
    fn it_sees_what_its_manual_says_and_nothing_shorter() {
        let stated = [(20.0, 0.15), (30.0, 0.134), (100.0, 0.12), (500.0, 0.12), (1000.0, 0.12)];
        for (rate_hz, seconds) in stated {
            let at_length =
                |seconds: f64| holding(rate_hz, seconds).measure(&CHECK).joint("held", 0);
            assert!(at_length(seconds + 1e-4 + 1.0 / rate_hz) > 0.0, "{rate_hz} Hz");
            assert_eq!(at_length(seconds - 0.001 - 1.0 / rate_hz), 0.0, "{rate_hz} Hz");
        }
        let slow = holding(10.0, 1.0).measure(&CHECK);
        assert!(slow.missing("held") && slow.is_not_assessed("12 Hz"));
    }

    /// Without torque for a second, or blocked: the joint then catches up over 60 ms, no faster than
    /// 300 degrees a second.
    #[test]
    fn a_joint_that_stands_and_catches_up_is_no_held_reading() {
        for rate_hz in RATES_HZ {
            let standing = bench(rate_hz, |truth, t| {
                let held = truth(4.9);
                let mut at = held;
                // The drive itself, in steps of 2 ms.
                for step in 0..((t - 5.9).max(0.0) * 500.0).min(2000.0) as usize {
                    let off = truth(5.9 + step as f64 / 500.0) - at;
                    at += (off * 0.002 / 0.06).clamp(-0.0105, 0.0105);
                }
                if (4.9..=9.9).contains(&t) { at } else { truth(t) }
            });
            assert_eq!(standing.measure(&CHECK).joint("held", 0), 0.0, "{rate_hz} Hz");
        }
    }

    #[test]
    fn a_stop_and_a_joint_that_stands_to_the_end_are_no_held_reading() {
        for rate_hz in RATES_HZ {
            let stop = bench(rate_hz, |truth, t| truth(t).min(0.1));
            assert_eq!(stop.measure(&CHECK).joint("held", 0), 0.0, "{rate_hz} Hz");
            let to_the_end = bench(rate_hz, |truth, t| truth(t.min(8.1)));
            assert_eq!(to_the_end.measure(&CHECK).joint("held", 0), 0.0, "{rate_hz} Hz");
        }
    }

    #[test]
    fn all_joints_at_once_and_coarse_counts_are_left_to_other_checks() {
        for rate_hz in RATES_HZ {
            // Joint 1 rested for a while before.
            let leader = |joint: usize, t: f64| {
                sway(joint, if joint == 1 { t - (t - 4.75).clamp(0.0, 0.1) } else { t })
            };
            let frozen = move |joint: usize, t: f64| {
                leader(joint, if (4.9..5.6).contains(&t) { 4.9 } else { t } - 0.08)
            };
            let frozen = Bench::at(rate_hz).seconds(12.0).leader(leader).follower(frozen);
            let read = frozen.measure(&CHECK);
            assert_eq!((read.joint("held", 0), read.joint("held", 1)), (0.0, 0.0), "{rate_hz} Hz");
            let count = 2f64.to_radians();
            let coarse = bench(rate_hz, move |truth, t| (0.2 * truth(t) / count).round() * count)
                .leader(|joint, t| if joint == 0 { 0.2 } else { 1.0 } * sway(joint, t))
                .rig(|rig| rig.joints[0].count = 2f64.to_radians());
            assert_eq!(coarse.measure(&CHECK).joint("held", 0), 0.0, "{rate_hz} Hz");
        }
    }

    /// A hand that pauses and moves on at once, behind lags that the check does not know exactly.
    #[test]
    fn a_pause_is_no_held_reading() {
        let pause =
            |joint: usize, t: f64| sway(joint, if t < 4.9 { t } else { 4.9f64.max(t - 1.0) });
        for rate_hz in RATES_HZ {
            for lag_s in [0.02, 0.08, 0.25] {
                let bench = Bench::at(rate_hz)
                    .seconds(12.0)
                    .leader(pause)
                    .follower(move |joint, t| pause(joint, t - lag_s));
                assert_eq!(bench.measure(&CHECK).joint("held", 0), 0.0, "{rate_hz} Hz, {lag_s} s");
            }
        }
    }

    #[test]
    fn grippers_are_left_out_and_no_leader_is_not_assessed() {
        let gripper = holding(50.0, 0.5).rig(|rig| rig.joints[0].gripper = true);
        assert!(gripper.measure(&CHECK).joint("held", 0).is_nan());
        let mut alone = holding(50.0, 0.5).episode();
        alone.action = None;
        let read = crate::check::testing::Measured::of(&CHECK, &alone);
        assert!(read.missing("held") && read.is_not_assessed("no leader"));
    }
}
