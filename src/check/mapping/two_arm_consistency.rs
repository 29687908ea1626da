//! Two arms in one table that do not come at the same time, or are one arm written twice.
//!
//! Hands that work together must be together: a policy that learns from arms of different lags lets
//! go with one before the other has hold. An arm that is a copy teaches nothing at all.
//!
//! How: the lag of each arm, the median over its joints weighted by their motion; the reading is
//! the difference between the slowest arm and the fastest in frame periods, of which each counts
//! as at least 15 ms. And the joints that move in two arms and are equal there in every frame, to
//! the last bit, in the state or in the action.
//!
//! Traps: which joints are an arm's is declared (arm = "left" at `[[rig.joints]]`) or said by their
//! names; joints of different arms are paired in order. Arms that move alike on purpose are never
//! equal to the last bit. Slack looks like lag, so joints that moved less than 20 degrees (40 mm)
//! are not asked.

use crate::check::prelude::{Check, Params, Study};
use crate::check::study::{Aligned, LEAST_MOTION_M, LEAST_MOTION_RAD};
use crate::model::{Channels, CheckSpec, Family, Metric, Rig, Sheet, Unit};

/// A frame counts as at least this long.
const LEAST_FRAME_S: f64 = 0.015;

static COPIED_JOINTS: Metric = Metric::of_episode(
    "copied_joints",
    Unit::Count,
    "joints of one arm that are those of another to the last bit",
)
.above(None, Some(0.0));
static LAG_GAP: Metric = Metric::of_episode(
    "lag_gap_frames",
    Unit::Frames,
    "lag of the slowest arm minus that of the fastest, frames of at least 15 ms",
)
.above(Some(1.0), None);

static SPEC: CheckSpec = CheckSpec {
    id: "two-arm-consistency",
    family: Family::Mapping,
    advisory: false,
    source: include_str!("two_arm_consistency.rs"),
    cause: "one arm's loop is slower than the other's, or one arm was written into both places",
    remedy: "read and write both arms in one loop; look at which port each arm's columns come from",
    reference: "common practice, no source",
    metrics: &[&COPIED_JOINTS, &LAG_GAP],
    params: &[],
};

/// The check; the head of this file is its manual.
pub static CHECK: Check = Check::of_episode(&SPEC, measure).without(without);

fn without(rig: &Rig) -> Option<&'static str> {
    (!rig.joints.iter().any(|joint| joint.arm.is_some())).then_some("no second arm")
}

fn measure(study: &Study<'_>, _: &Params, sheet: &mut Sheet) {
    let arms = study.episode.rig.arms();
    let mut copied = 0;
    for (at, (_, one)) in arms.iter().enumerate() {
        for (_, other) in &arms[at + 1..] {
            let pairs = || one.iter().copied().zip(other.iter().copied());
            let state = &study.episode.state;
            let action = study.episode.action.as_ref();
            let copies = |c: &Channels| pairs().filter(|(a, b)| copy(study, c, *a, *b)).count();
            copied += copies(state).max(action.map_or(0, copies));
        }
    }
    sheet.put(&COPIED_JOINTS, copied as f64);
    if let Some(reason) = study.no_leader() {
        return sheet.not_assessed(reason);
    }
    let Some(period_s) = study.period_s() else { return sheet.not_assessed("no frame period") };
    let following = study.following();
    let lag = |joints: &Vec<usize>| {
        let of = |joint: &usize| {
            let smallest =
                if study.joints()[*joint].linear { LEAST_MOTION_M } else { LEAST_MOTION_RAD };
            let aligned = following.joints.get(*joint)?.as_ref()?;
            (aligned.motion >= 2.0 * smallest).then_some(aligned)
        };
        Aligned::overall_s(joints.iter().filter_map(of))
    };
    let lags: Vec<f64> = arms.iter().filter_map(|(_, joints)| lag(joints)).collect();
    if lags.len() < 2 {
        return sheet.not_assessed("fewer than two arms moved 20 degrees and have a lag");
    }
    let most = lags.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let smallest = lags.iter().copied().fold(f64::INFINITY, f64::min);
    sheet.put(&LAG_GAP, (most - smallest) / period_s.max(LEAST_FRAME_S));
}

/// Whether two joints are one: equal in each frame, and moving by more than a few counts.
fn copy(study: &Study<'_>, channels: &Channels, a: usize, b: usize) -> bool {
    let (one, other) = (channels.joint(a), channels.joint(b));
    let same = |(x, y): (&f32, &f32)| x.to_bits() == y.to_bits();
    if !one.iter().zip(other).all(same) {
        return false;
    }
    let (low, high) = crate::check::study::range(one);
    f64::from(high - low) > study.at_least(a, 10.0, 1.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::testing::{Bench, sway};
    use crate::model::Joint;

    /// Two arms of two joints, the right one later by this much.
    fn pair(rate_hz: f64, later_s: f64) -> Bench {
        let work = |joint: usize, t: f64| sway(joint % 2, t + if joint < 2 { 0.0 } else { 0.7 });
        Bench::at(rate_hz)
            .seconds(12.0)
            .leader(work)
            .follower(move |joint, t| {
                work(joint, t - if joint < 2 { 0.06 } else { 0.06 + later_s })
            })
            .rig(|rig| {
                rig.joints.truncate(2);
                rig.joints.extend(["waist_r", "elbow_r"].map(Joint::named));
                for (n, joint) in rig.joints.iter_mut().enumerate() {
                    joint.arm = Some(if n < 2 { "left" } else { "right" }.into());
                }
            })
    }

    #[test]
    fn the_gap_between_the_arms_lags_is_read() {
        for rate_hz in [25.0, 30.0, 50.0, 200.0] {
            let even = pair(rate_hz, 0.0).measure(&CHECK);
            assert!(even.value("lag_gap_frames") < 0.2, "{rate_hz} Hz: {even:?}");
            assert_eq!(even.value("copied_joints"), 0.0);
            let late = pair(rate_hz, 0.08).measure(&CHECK);
            let frames = 0.08 * rate_hz.min(1.0 / LEAST_FRAME_S);
            let read = late.value("lag_gap_frames");
            assert!((read - frames).abs() < 0.15, "{rate_hz} Hz: {read} for {frames}");
        }
    }

    #[test]
    fn an_arm_written_twice_is_a_copy_and_arms_at_rest_are_not() {
        let twice = |joint: usize, t: f64| sway(joint % 2, t);
        let copied = pair(50.0, 0.0).leader(twice).measure(&CHECK);
        assert_eq!(copied.value("copied_joints"), 2.0);
        let still = pair(50.0, 0.0).still().measure(&CHECK);
        assert_eq!(still.value("copied_joints"), 0.0);
    }
}
