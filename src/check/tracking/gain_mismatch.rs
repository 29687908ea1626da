//! The follower's range is not the leader's: it goes farther than commanded, or less far.
//!
//! Far from the neutral pose the arm is not where it was commanded to be, by more the farther it goes.
//!
//! How: the change of the follower with the leader's position, lag taken out, fitted together
//! with offset, backlash, speed and acceleration (see backlash). Points count by their speed up to 3
//! degrees a second; those in contact (see neutral offset) and those beyond five robust standard
//! deviations of the fit are left out. The reading is how far this slope is off 1.
//!
//! Traps: a lag not taken out makes ranges look smaller: a true 1.000 read 0.979 on slow and 0.911
//! on fast motion. What is held by an object falls short without a wrong range: a joint must be free over
//! a third of its motion. A joint that sags shows a slope of some percent too: where the error draws the
//! curve of a cosine, no range is read. Less than 20 degrees (40 mm) of free motion says too little, and
//! where much is left unexplained it is no range.

use crate::check::prelude::{Check, Params};
use crate::check::study::{Fit, Study};
use crate::model::{CheckSpec, Family, Metric, Pool, Sheet, Unit};

static GAIN_ERROR: Metric = Metric::of_joint(
    "gain_error",
    Unit::Ratio,
    "how far the follower's motion over the leader's is off 1",
)
.above(Some(0.05), Some(0.10))
.pooled(Pool::About { signed: &GAIN, neutral: 1.0 })
.recovery("as it is, alone, while the calibration stays: do not merge it with other sessions");
/// The measurement `gain`.
pub static GAIN: Metric =
    Metric::of_joint("gain", Unit::Ratio, "the follower's motion over the leader's").feature();

static SPEC: CheckSpec = CheckSpec {
    id: "gain-mismatch",
    family: Family::Tracking,
    applies_to: crate::model::SignalKind::JOINTS,
    needs: crate::model::Relation::Target,
    advisory: false,
    source: include_str!("gain_mismatch.rs"),
    cause: "the two sides were calibrated over different ranges",
    remedy: "calibrate the range of both sides again, from stop to stop",
    reference: "a line through both, common practice; proved on planted gains",
    metrics: &[&GAIN_ERROR, &GAIN],
    params: &[],
};

/// The check; the head of this file is its manual.
pub static CHECK: Check = Check::of_episode(&SPEC, measure);

fn measure(study: &Study<'_>, _: &Params, sheet: &mut Sheet) {
    study.each_moved(2.0, sheet, |joint, traced, sheet| match traced.fit {
        Some(Fit { sag: Some(_), .. }) => {
            sheet
                .not_assessed_joint(joint, "it sags with its pose, which looks like a wrong range");
        }
        Some(fit) if fit.left < 0.05 * fit.range => {
            sheet.put_joint(&GAIN_ERROR, joint, fit.gain.abs());
            sheet.put_joint(&GAIN, joint, 1.0 + fit.gain);
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
    fn a_planted_gain_is_read_at_every_rate() {
        for rate_hz in [25.0, 30.0, 50.0, 100.0, 200.0] {
            for gain in [0.85, 0.94, 1.0, 1.03, 1.12] {
                let scaled = move |joint: usize, t: f64| {
                    sway(joint, t - 0.08) * if joint == 0 { gain } else { 1.0 } + 0.05
                };
                let bench = Bench::at(rate_hz).seconds(15.0).follower(scaled).measure(&CHECK);
                let read = bench.joint("gain", 0);
                assert!((read - gain).abs() < 0.005, "{rate_hz} Hz {gain}: {read}");
                // A straight line between frames cuts the corners of a motion of 0.6 Hz.
                assert!(bench.joint("gain_error", 1) < 0.01, "{rate_hz} Hz {gain}");
            }
        }
    }

    #[test]
    fn a_dead_joint_and_a_small_motion_have_no_gain() {
        let small = |joint: usize, t: f64| sway(joint, t) * if joint == 0 { 0.3 } else { 1.0 };
        let bench = Bench::at(50.0).frames(600).leader(small).measure(&CHECK);
        assert!(bench.joint("gain", 0).is_nan() && bench.is_not_assessed("needs 20 deg"));
    }
}
