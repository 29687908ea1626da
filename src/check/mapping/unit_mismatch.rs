//! A joint whose two columns are in different units.
//!
//! What is learnt of that joint is off by the ratio of the units, and its error drowns all others.
//!
//! How: the ratio of the two motions (of their standard deviations, at the overall lag) where
//! they go together (|correlation| above 0.8), held against the ratios that two units of an angle
//! can have: 57.296 (degrees to radians), 11.378 (counts of 4096 to degrees), 651.9 (counts to
//! radians), 100 (percent to a share), and their inverses. Within 12 % of one of them the reading
//! is that ratio, the greater unit over the smaller; else 1.
//!
//! Traps: whatever unit the table is in, both columns share it, so the ratio does not depend on
//! it. A follower that barely moves is a dead joint and not a unit: both must go together. The
//! gripper may have a unit of its own and is left out.

use crate::check::prelude::{Check, Params, Study};
use crate::model::{CheckSpec, Family, Metric, Pool, Sheet, Unit};

static UNIT_RATIO: Metric = Metric::of_joint(
    "unit_ratio",
    Unit::Ratio,
    "ratio of the two columns' units, the greater over the smaller; 1 where they agree",
)
.above(None, Some(1.0))
.pooled(Pool::Own)
.recovery("convert the column by this ratio");

/// Ratios that two units can have: degrees to a radian; counts of 4096 to a turn, in degrees and in
/// radians; percent.
const RATIOS: [f64; 4] = [57.295_78, 4096.0 / 360.0, 651.898_65, 100.0];
/// How near to one of them a ratio must be: the ranges of the two arms may differ as well.
const NEAR: f64 = 0.12;

static SPEC: CheckSpec = CheckSpec {
    id: "unit-mismatch",
    family: Family::Mapping,
    advisory: false,
    source: include_str!("unit_mismatch.rs"),
    cause: "one column was converted and the other was not",
    remedy: "convert both once, where they are read",
    reference: "ratios of the units themselves",
    metrics: &[&UNIT_RATIO],
    params: &[],
};

/// The check; the head of this file is its manual.
pub static CHECK: Check = Check::of_episode(&SPEC, measure);

fn measure(study: &Study<'_>, _: &Params, sheet: &mut Sheet) {
    if let Some(reason) = study.no_leader() {
        return sheet.not_assessed(reason);
    }
    let likeness = study.likeness();
    if likeness.pairs.is_empty() {
        return sheet.not_assessed("no joint moved enough");
    }
    for (place, pair) in likeness.pairs.iter().enumerate() {
        if likeness.between(place, place).abs() > 0.8 {
            sheet.put_joint(&UNIT_RATIO, pair.joint, ratio(pair.slope));
        } else {
            sheet.not_assessed_joint(pair.joint, "its two columns do not go together");
        }
    }
}

/// The listed ratio that this slope is near to, or 1.
fn ratio(slope: f64) -> f64 {
    let size = slope.max(1.0 / slope);
    let near = |ratio: &&f64| (size / **ratio).ln().abs() < NEAR;
    RATIOS.iter().find(near).copied().unwrap_or(1.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::testing::{Bench, sway};

    #[test]
    fn each_mixture_of_units_is_named() {
        for rate_hz in [25.0, 50.0, 200.0] {
            for (factor, expected) in [
                (57.3, 57.295_78),
                (1.0 / 57.3, 57.295_78),
                (11.38 * 1.05, 11.377_78),
                (652.0, 651.898_65),
                (1.0, 1.0),
                (1.3, 1.0),
                (30.0, 1.0),
            ] {
                let wrong = move |joint: usize, t: f64| {
                    sway(joint, t - 0.08) * if joint == 1 { factor } else { 1.0 }
                };
                let bench = Bench::at(rate_hz).seconds(12.0).follower(wrong).measure(&CHECK);
                let read = bench.joint("unit_ratio", 1);
                assert!((read - expected).abs() < 0.01, "{rate_hz} Hz, {factor}: {bench:?}");
                assert_eq!(bench.joint("unit_ratio", 0), 1.0, "{rate_hz} Hz, {factor}");
            }
        }
    }

    #[test]
    fn a_dead_joint_is_no_unit() {
        let dead = |joint: usize, t: f64| {
            if joint == 1 { 0.004 * (t * 11.0).sin().signum() } else { sway(joint, t) }
        };
        let bench = Bench::at(30.0).frames(400).follower(dead).measure(&CHECK);
        assert!(
            bench.joint("unit_ratio", 1).is_nan() && bench.is_not_assessed("do not go together")
        );
    }
}
