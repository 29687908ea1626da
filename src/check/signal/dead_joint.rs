//! A joint that does not answer: no torque, a wrong servo id, a broken wire.
//!
//! The state says nothing of that joint, and what the demonstration shows was done without it.
//!
//! How: the range of the follower's position in counts of its sensor, on joints whose leader
//! moved at least 5 degrees (20 for a gripper, 10 mm for a linear joint). Below three counts the
//! joint is dead. The ranges of both are kept, also as features for the outlier check.
//!
//! Traps: a joint that the task does not use is flat on both sides: its leader did not move, so
//! nothing can be said of it. A gripper that holds an object throughout is still while its command
//! is squeezed, so it must be commanded farther. Where the data shows no counts, a count is taken
//! as 0.03 degrees.

use crate::check::prelude::{Check, Params, Study};
use crate::model::{CheckSpec, Family, Joint, Metric, Param, Sheet, Unit};

static MOTION_COUNTS: Metric = Metric::of_joint(
    "motion_counts",
    Unit::Count,
    "range of the follower in sensor counts, where the leader moved enough",
)
.below(None, Some(3.0));
static FOLLOWER_RANGE: Metric =
    Metric::of_joint("follower_range", Unit::Radian, "largest minus smallest measured position")
        .feature();
static LEADER_RANGE: Metric =
    Metric::of_joint("leader_range", Unit::Radian, "largest minus smallest commanded position");

static LEAST_RAD: Param = Param {
    id: "least_rad",
    summary: "the leader's motion below which nothing is said of a joint",
    unit: Unit::Radian,
    default: 5.0 * std::f64::consts::PI / 180.0,
};

static SPEC: CheckSpec = CheckSpec {
    id: "dead-joint",
    family: Family::Signal,
    applies_to: crate::model::SignalKind::MOVING,
    needs: crate::model::Relation::Motion,
    advisory: false,
    source: include_str!("dead_joint.rs"),
    cause: "no torque, a wrong servo id, or a broken wire",
    remedy: "with the power off check wire and servo id; then enable torque and move the joint alone",
    reference: "common practice, no source",
    metrics: &[&MOTION_COUNTS, &FOLLOWER_RANGE, &LEADER_RANGE],
    params: &[&LEAST_RAD],
};

/// The check; the head of this file is its manual.
pub static CHECK: Check = Check::of_episode(&SPEC, measure);

fn measure(study: &Study<'_>, params: &Params, sheet: &mut Sheet) {
    let least_rad = params.get(&SPEC, &LEAST_RAD);
    for (joint, described) in study.joints().iter().enumerate() {
        let (low, high) = study.state_range(joint);
        let moved = f64::from(high - low);
        sheet.put_joint(&FOLLOWER_RANGE, joint, moved);
        let Some((low, high)) = study.action_range(joint) else { continue };
        let commanded = f64::from(high - low);
        sheet.put_joint(&LEADER_RANGE, joint, commanded);
        let (smallest, words) = least(described, least_rad);
        if commanded > smallest {
            sheet.put_joint(&MOTION_COUNTS, joint, moved / study.count(joint));
        } else {
            sheet.not_assessed_joint(joint, words(commanded));
        }
    }
    if study.episode.action.is_none() {
        sheet.not_assessed("no leader column");
    }
}

/// How far the leader must move before a joint can be called dead, and how to say that it did not.
fn least(joint: &Joint, least_rad: f64) -> (f64, impl Fn(f64) -> String) {
    let factor = if joint.gripper { 4.0 } else { 1.0 };
    let linear = joint.linear;
    let smallest = if linear { 0.01 } else { least_rad } * factor;
    let words = move |moved: f64| {
        if linear {
            format!("the leader moved it {:.1} mm, needs {:.0} mm", moved * 1e3, smallest * 1e3)
        } else {
            let (moved, needed) = (moved.to_degrees(), smallest.to_degrees());
            format!("the leader moved it {moved:.1} deg, needs {needed:.0} deg")
        }
    };
    (smallest, words)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::testing::{Bench, sway};

    const COUNT: f64 = std::f64::consts::TAU / 4096.0;

    fn counted(bench: Bench) -> Bench {
        bench.rig(|rig| rig.joints.iter_mut().for_each(|joint| joint.count = COUNT))
    }

    #[test]
    fn a_joint_that_flickers_by_a_count_is_dead() {
        let dead = |joint: usize, t: f64| {
            if joint == 1 { COUNT * (t * 11.0).sin().signum() * 0.5 } else { sway(joint, t) }
        };
        let bench = counted(Bench::at(30.0)).follower(dead).measure(&CHECK);
        assert!((bench.joint("motion_counts", 1) - 1.0).abs() < 1e-3);
        assert!(bench.joint("motion_counts", 0) > 500.0);
    }

    #[test]
    fn an_unused_joint_is_not_assessable() {
        for rate_hz in [25.0, 50.0, 200.0] {
            let idle = |joint: usize, t: f64| if joint == 1 { 0.3 } else { sway(joint, t) };
            let bench = counted(Bench::at(rate_hz)).leader(idle).measure(&CHECK);
            assert!(bench.joint("motion_counts", 1).is_nan());
            assert!(bench.is_not_assessed("needs 5 deg"));
        }
    }

    #[test]
    fn a_gripper_squeezing_all_the_time_is_not_dead() {
        let squeeze =
            |joint: usize, t: f64| if joint == 1 { 0.1 * t.sin() } else { sway(joint, t) };
        let held = |joint: usize, t: f64| if joint == 1 { 0.0 } else { sway(joint, t) };
        let bench = counted(Bench::at(30.0))
            .leader(squeeze)
            .follower(held)
            .rig(|rig| rig.joints[1].gripper = true)
            .measure(&CHECK);
        assert!(bench.joint("motion_counts", 1).is_nan() && bench.is_not_assessed("needs 20 deg"));
    }
}
