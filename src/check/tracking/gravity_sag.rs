//! A joint that droops with its pose: the servo is weak, hot, or carries too much.
//!
//! How far the arm falls short depends on the pose and on what it carries, and changes as the servo
//! gets warm.
//!
//! How: the part of e = s(t + L) - a(t) that goes with the joint's own pose, over the 5th to 95th
//! percentile of the poses, where nothing holds the follower (see neutral offset). It is a cosine of the
//! pose where its curve is sure: above 1.5 degrees and five standard deviations; then the reading is the
//! droop where it is largest. Else it is the line from the fit of backlash, and the reading its change.
//!
//! Traps: without a curve, a calibration over the wrong range looks the same in one joint; where that is
//! found it is named instead. A constant droop cannot be distinguished from an offset and is left to it. Constant
//! sag can be learnt; sag that changes with heat cannot.

use crate::check::prelude::{Check, Params};
use crate::check::study::{Fit, Study};
use crate::model::{CheckSpec, Family, Metric, Pool, Sheet, Unit};

const DEGREE: f64 = std::f64::consts::PI / 180.0;

/// The measurement `sag`.
pub static SAG: Metric = Metric::of_joint(
    "sag",
    Unit::Radian,
    "how far the joint droops, or its error changes, over the poses of the episode",
)
.above(Some(3.0 * DEGREE), Some(6.0 * DEGREE))
.pooled(Pool::Own);

static SPEC: CheckSpec = CheckSpec {
    id: "gravity-sag",
    family: Family::Tracking,
    applies_to: crate::model::SignalKind::JOINTS,
    needs: crate::model::Relation::Target,
    advisory: true,
    source: include_str!("gravity_sag.rs"),
    cause: "the joint gives way under the arm's weight",
    remedy: "a counterweight or spring; a higher integral gain; check the supply voltage under load",
    reference: "common practice, no source",
    metrics: &[&SAG],
    params: &[],
};

/// The check; the head of this file is its manual.
pub static CHECK: Check = Check::of_episode(&SPEC, measure);

fn measure(study: &Study<'_>, _: &Params, sheet: &mut Sheet) {
    study.each_moved(1.0, sheet, |joint, traced, sheet| match traced.fit {
        Some(Fit { sag: Some(sag), low, high, .. }) => {
            sheet.put_joint(&SAG, joint, sag.most(low, high));
        }
        Some(fit) if fit.left < 0.05 * fit.range => {
            sheet.put_joint(&SAG, joint, fit.gain.abs() * fit.range);
        }
        _ => {
            sheet.not_assessed_joint(joint, "the follower does not keep to a line with the leader");
        }
    });
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::testing::{Bench, sway};

    #[test]
    fn a_droop_with_the_pose_is_read_over_the_poses() {
        for rate_hz in [25.0, 50.0, 200.0] {
            // A tenth of the pose, on 60 degrees of motion of which a sine spends nine tenths of
            // its time within 59.3.
            let droop =
                |joint: usize, t: f64| sway(joint, t - 0.08) * if joint == 0 { 0.9 } else { 1.0 };
            let bench = Bench::at(rate_hz).seconds(15.0).follower(droop).measure(&CHECK);
            let sag_deg = bench.joint("sag", 0).to_degrees();
            let range_deg = 60.0 * (0.45 * std::f64::consts::PI).sin();
            assert!((sag_deg - 0.1 * range_deg).abs() < 0.3, "{rate_hz} Hz: {sag_deg}");
            assert!(bench.joint("sag", 1).to_degrees() < 0.4);
        }
    }
}
