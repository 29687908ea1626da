//! Leader and follower columns that are exchanged.
//!
//! What is called the action then comes after what is called the state: a policy learns to
//! predict what it has already seen.
//!
//! How: the lag of each joint with ample motion (20 degrees, 40 mm). If at least two of them, and
//! most, have a lag below minus half a frame period, the reading is the median by which they are
//! behind; else nought.
//!
//! Traps: an action that is stored one row late, bit by bit the state of the row before, is a
//! logger's convention and no swap; that lag is minus one frame to a hundredth. One joint alone
//! proves nothing.

use crate::check::study::{LEAST_MOTION_M, LEAST_MOTION_RAD};
use crate::check::tracking::tracking_lag::search_s;
use crate::check::{Check, Params, Study};
use crate::model::{CheckSpec, Metric, Sheet, Unit};
use crate::num::robust::median;

static LEADER_BEHIND: Metric = Metric::of_episode(
    "leader_behind",
    Unit::Second,
    "how much later the action is than the state; nought if it is not",
)
.above(None, Some(0.0));

static SPEC: CheckSpec = CheckSpec {
    id: "arm-swap",
    family: "mapping",
    title: "swapped arms",
    advisory: false,
    source: include_str!("arm_swap.rs"),
    cause: "leader and follower are exchanged: the ports changed names, or the columns were mixed up",
    remedy: "name the ports by serial number; recorded data is saved by exchanging the two columns",
    reference: "the follower cannot come first: common practice, no source",
    metrics: &[&LEADER_BEHIND],
    params: &[],
};

/// The instrument.
pub struct ArmSwap;

impl Check for ArmSwap {
    fn spec(&self) -> &'static CheckSpec {
        &SPEC
    }

    fn measure(&self, study: &Study<'_>, params: &Params, sheet: &mut Sheet) {
        if let Some(reason) = study.no_leader() {
            return sheet.hole(reason);
        }
        let period_s = study.episode.rig.period_s;
        let following = study.following(search_s(params));
        let mut lags = Vec::new();
        for (described, aligned) in study.joints().iter().zip(&following.joints) {
            let Some(aligned) = aligned else { continue };
            let least = if described.linear { LEAST_MOTION_M } else { LEAST_MOTION_RAD };
            if let (Ok((lag_s, _)), true) = (&aligned.lag_s, aligned.motion >= 2.0 * least) {
                lags.push(*lag_s);
            }
        }
        if lags.len() < 2 {
            return sheet.hole("fewer than two joints moved 20 degrees and have a lag");
        }
        let behind: Vec<f64> =
            lags.iter().filter(|lag_s| **lag_s < -0.5 * period_s).map(|lag_s| -lag_s).collect();
        let convention = behind.iter().all(|s| (s / period_s - 1.0).abs() < 0.01);
        let swapped = behind.len() >= 2 && 2 * behind.len() > lags.len() && !convention;
        sheet.put(&LEADER_BEHIND, if swapped { median(&behind) } else { 0.0 });
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::testing::{Bench, sway};

    #[test]
    fn a_leader_that_comes_after_its_follower_is_the_follower() {
        for rate_hz in [25.0, 50.0, 200.0] {
            let swapped = Bench::at(rate_hz)
                .seconds(10.0)
                .follower(|joint, t| sway(joint, t + 0.08))
                .measure(&ArmSwap);
            assert!((swapped.value("leader_behind") - 0.08).abs() < 1e-3, "{rate_hz} Hz");
            let right = Bench::at(rate_hz).seconds(10.0).measure(&ArmSwap);
            assert_eq!(right.value("leader_behind"), 0.0, "{rate_hz} Hz");
        }
    }

    #[test]
    fn an_action_one_row_late_is_a_convention_and_one_joint_proves_nothing() {
        let late = Bench::at(50.0)
            .frames(500)
            .moved_stamps(|_| 0.0)
            .follower(|joint, t| sway(joint, t + 0.02))
            .measure(&ArmSwap);
        assert_eq!(late.value("leader_behind"), 0.0);
        let one = Bench::at(50.0).frames(500).rig(|rig| rig.joints[1].gripper = true);
        assert!(one.measure(&ArmSwap).is_hole("fewer than two joints"));
    }
}
