//! Leader and follower columns that are exchanged.
//!
//! What is called the action then comes after what is called the state: a policy learns to
//! predict what it has already seen.
//!
//! How: the lag of each joint with ample motion (20 degrees, 40 mm). If at least two of them, and
//! most, have a lag below minus half a frame period, the reading is the median by which they are
//! behind; else zero. Of several arms in one table each is looked at by itself. In addition, in
//! frame periods and with its sign, the median over all joints that moved 10 degrees (20 mm), even of
//! one: over a session's episodes that tells what no single one of them can.
//!
//! Traps: an action that is stored one row late, bit by bit the state of the row before, is a
//! logger's convention and no swap; that lag is minus one frame to a hundredth. One joint alone
//! proves nothing.

use crate::check::prelude::{Check, Params, Study};
use crate::check::study::{LEAST_MOTION_M, LEAST_MOTION_RAD};
use crate::model::{Bound, CheckSpec, Family, Limit, Metric, Pool, Sheet, Unit};
use crate::num::robust::median;

static LEADER_BEHIND: Metric = Metric::of_episode(
    "leader_behind",
    Unit::Second,
    "how much later the action is than the state; zero if it is not",
)
.above(None, Some(0.0))
.pooled(Pool::Own)
.recovery("exchange leader and follower by the names of their columns");

static BEHIND_FRAMES: Metric = Metric::of_episode(
    "behind_frames",
    Unit::Frames,
    "median over the joints of how much later the action is than the state; below zero: earlier",
)
.pooled(Pool::Session(Bound::Above(Limit::new(None, Some(0.5)))))
.recovery("exchange leader and follower by the names of their columns");

static SPEC: CheckSpec = CheckSpec {
    id: "arm-swap",
    family: Family::Mapping,
    applies_to: crate::model::SignalKind::JOINTS,
    needs: crate::model::Relation::Target,
    advisory: false,
    source: include_str!("arm_swap.rs"),
    cause: "leader and follower are exchanged: the ports changed names, or the columns were mixed up",
    remedy: "name the ports by serial number",
    reference: "the follower cannot come first: common practice, no source",
    metrics: &[&LEADER_BEHIND, &BEHIND_FRAMES],
    params: &[],
};

/// The check; the head of this file is its manual.
pub static CHECK: Check = Check::of_episode(&SPEC, measure);

fn measure(study: &Study<'_>, _: &Params, sheet: &mut Sheet) {
    if let Some(reason) = study.no_leader() {
        return sheet.not_assessed(reason);
    }
    let period_s = study.episode.rig.period_s;
    let following = study.following();
    let rig = &study.episode.rig;
    // Each pair of arms has its own two ports.
    let mut arms = rig.arms();
    if arms.is_empty() {
        arms.push(("", (0..rig.joints.len()).collect()));
    }
    let mut worst: Option<(f64, &str)> = None;
    let mut signed: Option<f64> = None;
    for (name, joints) in &arms {
        let (mut lags, mut all_lags) = (Vec::new(), Vec::new());
        for joint in joints {
            let Some(aligned) = following.joints.get(*joint).and_then(Option::as_ref) else {
                continue;
            };
            let linear = rig.joints[*joint].linear;
            let smallest = if linear { LEAST_MOTION_M } else { LEAST_MOTION_RAD };
            let Ok((lag_s, _)) = &aligned.lag_s else { continue };
            all_lags.push(*lag_s);
            if aligned.motion >= 2.0 * smallest {
                lags.push(*lag_s);
            }
        }
        if !all_lags.is_empty() && period_s > 0.0 {
            let behind = -median(&all_lags) / period_s;
            let behind = if is_convention(behind) { 0.0 } else { behind };
            signed = Some(signed.map_or(behind, |known: f64| known.max(behind)));
        }
        if lags.len() >= 2 {
            let behind_s = behind(&lags, period_s);
            if worst.is_none_or(|(known_s, _)| behind_s > known_s) {
                worst = Some((behind_s, name));
            }
        }
    }
    if let Some(frames) = signed {
        sheet.put(&BEHIND_FRAMES, frames);
    }
    let Some((behind_s, arm)) = worst else {
        return sheet.not_assessed("fewer than two joints moved 20 degrees and have a lag");
    };
    sheet.put(&LEADER_BEHIND, behind_s);
    if !arm.is_empty() {
        sheet.note(format!("arm {arm}"));
    }
}

/// How far the leader is behind, in seconds; zero if it is not.
fn behind(lags_s: &[f64], period_s: f64) -> f64 {
    let behind: Vec<f64> =
        lags_s.iter().filter(|lag_s| **lag_s < -0.5 * period_s).map(|lag_s| -lag_s).collect();
    let convention = behind.iter().all(|s| is_convention(s / period_s));
    let swapped = behind.len() >= 2 && 2 * behind.len() > lags_s.len() && !convention;
    if swapped { median(&behind) } else { 0.0 }
}

/// Behind by one row, to the bit: how some loggers store the action.
fn is_convention(behind_frames: f64) -> bool {
    (behind_frames - 1.0).abs() < 0.01
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::testing::{Bench, sway};
    use crate::model::{Joint, Rig};

    #[test]
    fn a_leader_that_comes_after_its_follower_is_the_follower() {
        for rate_hz in [25.0, 50.0, 200.0] {
            let swapped = Bench::at(rate_hz)
                .seconds(10.0)
                .follower(|joint, t| sway(joint, t + 0.08))
                .measure(&CHECK);
            assert!((swapped.value("leader_behind") - 0.08).abs() < 1e-3, "{rate_hz} Hz");
            let frames = swapped.value("behind_frames");
            assert!((frames - 0.08 * rate_hz).abs() < 1e-3 * rate_hz, "{rate_hz} Hz: {frames}");
            let right = Bench::at(rate_hz).seconds(10.0).measure(&CHECK);
            assert_eq!(right.value("leader_behind"), 0.0, "{rate_hz} Hz");
            assert!(right.value("behind_frames") < -1.0, "{rate_hz} Hz");
        }
    }

    #[test]
    fn one_of_two_arms_may_be_swapped_and_two_right_ones_are_not() {
        let arms = |rig: &mut Rig| {
            rig.joints.extend(["waist_r", "elbow_r"].map(Joint::named));
            for (n, joint) in rig.joints.iter_mut().enumerate() {
                joint.arm = Some(if n < 2 { "left" } else { "right" }.into());
            }
        };
        let work = |joint: usize, t: f64| sway(joint % 2, t + if joint < 2 { 0.0 } else { 0.4 });
        let read = |right_late_s: f64| {
            let late = move |joint: usize| if joint < 2 { 0.08 } else { right_late_s };
            let bench = Bench::at(50.0).seconds(10.0).leader(work);
            let bench = bench.follower(move |joint, t| work(joint, t - late(joint))).rig(arms);
            bench.measure(&CHECK).value("leader_behind")
        };
        assert_eq!(read(0.16), 0.0);
        assert!((read(-0.08) - 0.08).abs() < 2e-3);
    }

    #[test]
    fn an_action_one_row_late_is_a_convention_and_one_joint_proves_nothing() {
        let late = Bench::at(50.0)
            .frames(500)
            .moved_stamps(|_| 0.0)
            .follower(|joint, t| sway(joint, t + 0.02))
            .measure(&CHECK);
        assert_eq!(late.value("leader_behind"), 0.0);
        assert_eq!(late.value("behind_frames"), 0.0);
        let one = Bench::at(50.0).frames(500).rig(|rig| rig.joints[1].gripper = true);
        let one = one.measure(&CHECK);
        assert!(one.is_not_assessed("fewer than two joints") && one.value("behind_frames") < -1.0);
    }
}
