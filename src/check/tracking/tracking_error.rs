//! How far the follower is from where the leader was, when lag and offset are taken out.
//!
//! What is left is load, weak gains, friction, contact. The policy's state and action disagree by
//! this much for no reason that it can see.
//!
//! How: e(t) = s(t + L) - a(t), its median taken off, then the 50th and 95th percentile of |e|;
//! L is the joint's own lag, or the overall lag where the joint has none. In addition, raw: the 95th
//! percentile of the plain difference in the same row; and, where the joint touches something (see
//! neutral offset), the 95th percentile outside contact.
//!
//! Traps: the raw error of a healthy arm reads three to four times the aligned one, because it is
//! mostly lag times speed. Fingers on an object and a tool on a table are off their leader by design:
//! where contact is usual in a session, it explains an error that is small outside it. The gripper is left out: its error is the grasp. A joint whose leader never
//! moved is not led, so there is nothing to follow: not assessable.

use crate::check::prelude::{Check, Params, Study};
use crate::check::study::Traced;
use crate::model::{CheckSpec, Family, Metric, Sheet, Unit};
use crate::num::quantile::{median_in_place, quantile_in_place};

/// A joint that is never farther off its leader touches nothing that matters: no trace is drawn for it.
const TOUCHING_DEG: f64 = 2.0;
const WARN_RAD: f64 = 4.0 * std::f64::consts::PI / 180.0;
const FAIL_RAD: f64 = 8.0 * std::f64::consts::PI / 180.0;

/// The measurement `error_p95`.
pub static ERROR_P95: Metric = Metric::of_joint(
    "error_p95",
    Unit::Radian,
    "95th percentile of the error, lag and offset taken out",
)
.above(Some(WARN_RAD), Some(FAIL_RAD))
.feature();
static ERROR_P50: Metric =
    Metric::of_joint("error_p50", Unit::Radian, "median of the error, lag and offset taken out");
/// Read where the joint touches something.
pub static FREE_ERROR_P95: Metric = Metric::of_joint(
    "free_error_p95",
    Unit::Radian,
    "95th percentile of the error outside contact",
);
static RAW_P95: Metric = Metric::of_joint(
    "raw_error_p95",
    Unit::Radian,
    "95th percentile of |follower - leader| in the same row, of every fourth row",
);

static SPEC: CheckSpec = CheckSpec {
    id: "tracking-error",
    family: Family::Tracking,
    applies_to: crate::model::SignalKind::MOVING,
    needs: crate::model::Relation::Target,
    advisory: true,
    source: include_str!("tracking_error.rs"),
    cause: "contact, friction, too much load or weak gains",
    remedy: "look at what the arm touches there; lighten the load or support the joint; check gains \
             and supply voltage",
    reference: "common practice, no source",
    metrics: &[&ERROR_P95, &ERROR_P50, &RAW_P95, &FREE_ERROR_P95],
    params: &[],
};

/// The check; the head of this file is its manual.
pub static CHECK: Check = Check::of_episode(&SPEC, measure);

fn measure(study: &Study<'_>, _: &Params, sheet: &mut Sheet) {
    if let Some(reason) = study.no_leader() {
        return sheet.not_assessed(reason);
    }
    let following = study.following();
    if following.overall_s.is_none() {
        return sheet.not_assessed("no joint has a lag to align by");
    }
    for (joint, aligned) in following.joints.iter().enumerate() {
        let Some(aligned) = aligned else { continue };
        if aligned.motion < 3.0 * study.count(joint) {
            sheet.not_assessed_joint(joint, "the leader never moved it");
        } else if aligned.error_p95.is_finite() {
            sheet.put_joint(&ERROR_P95, joint, aligned.error_p95);
            sheet.put_joint(&ERROR_P50, joint, aligned.error_p50);
            sheet.put_joint(&RAW_P95, joint, aligned.raw_p95);
            if aligned.error_p95 > study.size(joint, TOUCHING_DEG)
                && let Some(Some(traced)) = study.traces().get(joint)
                && let Some(free) = free_error(traced)
            {
                sheet.put_joint(&FREE_ERROR_P95, joint, free);
            }
        } else {
            sheet.not_assessed_joint(joint, "too few frames without a gap");
        }
    }
}

/// The 95th percentile of the error, its median taken off, where nothing held the follower; `None` where
/// nothing ever did, or always something.
fn free_error(traced: &Traced) -> Option<f64> {
    let mut errors = traced.free().error.clone();
    if traced.holds.is_empty() || errors.is_empty() {
        return None;
    }
    let offset = median_in_place(&mut errors) as f32;
    for error in &mut errors {
        *error = (*error - offset).abs();
    }
    Some(quantile_in_place(&mut errors, 0.95))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::testing::{Bench, sway};

    #[test]
    fn lag_and_offset_leave_no_error_but_a_raw_one() {
        for rate_hz in [25.0, 50.0, 200.0] {
            let bench = Bench::at(rate_hz)
                .seconds(10.0)
                .follower(|joint, t| sway(joint, t - 0.08) + 0.1)
                .measure(&CHECK);
            assert!(bench.joint("error_p95", 0) < 0.002, "{rate_hz} Hz: {bench:?}");
            // Raw: the offset, and the lag times the top speed of 30 deg x 2 pi 0.4 Hz on top.
            let raw = 0.1 + 0.08 * 30f64.to_radians() * std::f64::consts::TAU * 0.4;
            assert!((bench.joint("raw_error_p95", 0) - raw).abs() < 0.005);
        }
    }

    #[test]
    fn a_joint_that_nobody_leads_has_no_error() {
        let led = |joint: usize, t: f64| if joint == 1 { 0.0 } else { sway(joint, t) };
        let bench = Bench::at(50.0)
            .seconds(10.0)
            .leader(led)
            .follower(|joint, t| sway(joint, t - 0.08))
            .measure(&CHECK);
        assert!(bench.joint("error_p95", 1).is_nan() && bench.is_not_assessed("never moved it"));
        assert!(bench.joint("error_p95", 0) < 0.002);
    }

    #[test]
    fn a_square_error_is_read_at_its_size() {
        // Half the time 6 degrees too high, half the time right: half of that about the median.
        let wrong = |joint: usize, t: f64| {
            let high = joint == 0 && (t / 0.9).floor() % 2.0 == 0.0;
            sway(joint, t - 0.08) + if high { 6f64.to_radians() } else { 0.0 }
        };
        let bench = Bench::at(100.0).seconds(20.0).follower(wrong).measure(&CHECK);
        let p95_deg = bench.joint("error_p95", 0).to_degrees();
        assert!((2.7..7.0).contains(&p95_deg), "{p95_deg}");
        assert!(bench.joint("error_p95", 1).to_degrees() < 0.2);
    }
}
