//! A joint of the follower that goes the other way.
//!
//! State and action contradict one another: a policy is taught to go away from where it wants to
//! be.
//!
//! How: the correlation of the joint's two positions at the overall lag, on joints that moved at
//! least 10 degrees (20 mm) in both arms. Below -0.8 the sign is wrong.
//!
//! Traps: of two exchanged joints that move against each other each looks flipped; the swap is
//! then the cause and is named alone.

use crate::check::prelude::{Check, Params, Study};
use crate::model::{Bound, CheckSpec, Family, Limit, Metric, Pool, Sheet, Unit};

static CORRELATION: Metric = Metric::of_joint(
    "correlation",
    Unit::Ratio,
    "correlation of follower and leader at the overall lag",
)
.below(None, Some(-0.8))
.pooled(Pool::Session(Bound::Below(Limit::new(None, Some(-0.5)))))
.recovery("as it is, alone, while the sign stays: do not merge it with other sessions");

static SPEC: CheckSpec = CheckSpec {
    id: "sign-flip",
    family: Family::Mapping,
    applies_to: crate::model::SignalKind::JOINTS,
    needs: crate::model::Relation::Motion,
    advisory: false,
    source: include_str!("sign_flip.rs"),
    cause: "the direction flag of one of the two servos is wrong",
    remedy: "set the direction flag",
    reference: "common practice, no source",
    metrics: &[&CORRELATION],
    params: &[],
};

/// The check; the head of this file is its manual.
pub static CHECK: Check = Check::of_episode(&SPEC, measure);

fn measure(study: &Study<'_>, _: &Params, sheet: &mut Sheet) {
    if let Some(reason) = study.no_leader() {
        return sheet.not_assessed(reason);
    }
    let likeness = study.likeness();
    let lively: Vec<_> =
        likeness.pairs.iter().enumerate().filter(|(_, pair)| pair.lively).collect();
    for (place, pair) in &lively {
        sheet.put_joint(&CORRELATION, pair.joint, likeness.between(*place, *place));
    }
    for (joint, described) in study.joints().iter().enumerate() {
        if !described.gripper && lively.iter().all(|(_, pair)| pair.joint != joint) {
            sheet.not_assessed_joint(joint, "it moved too little in one of the two arms");
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::testing::{Bench, sway};

    #[test]
    fn a_flipped_joint_reads_minus_one_and_a_sound_one_plus_one() {
        for rate_hz in [25.0, 30.0, 100.0, 200.0] {
            let flipped = |joint: usize, t: f64| {
                let sound = sway(joint, t - 0.08);
                if joint == 1 { 0.2 - sound } else { sound }
            };
            let bench = Bench::at(rate_hz).seconds(10.0).follower(flipped).measure(&CHECK);
            assert!(bench.joint("correlation", 1) < -0.98, "{rate_hz} Hz: {bench:?}");
            assert!(bench.joint("correlation", 0) > 0.98, "{rate_hz} Hz: {bench:?}");
        }
    }

    #[test]
    fn a_joint_that_the_task_does_not_use_is_not_assessable() {
        let idle = |joint: usize, t: f64| if joint == 1 { 0.3 } else { sway(joint, t) };
        let bench = Bench::at(30.0).frames(400).leader(idle).measure(&CHECK);
        assert!(
            bench.joint("correlation", 1).is_nan() && bench.is_not_assessed("moved too little")
        );
    }
}
