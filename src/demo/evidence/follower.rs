//! The follower's servos and gears.

use super::super::{Fault, Recipe, simulate};
use super::{Outcome, pair, quantile, range_deg};

const COUNT_DEG: f64 = 360.0 / 4096.0;
const SHOULDER: usize = 1;
const ELBOW: usize = 2;

/// Moments at which a joint passes a level on the move up, between frames by a straight line.
fn crossings(moment_s: &[f64], values: &[f64], level: f64) -> Vec<f64> {
    (1..values.len())
        .filter(|k| values[k - 1] < level && values[*k] >= level)
        .map(|k| {
            let part = (level - values[k - 1]) / (values[k] - values[k - 1]);
            moment_s[k - 1] + part * (moment_s[k] - moment_s[k - 1])
        })
        .collect()
}

#[test]
fn added_dead_time_delays_the_joint_by_just_that() -> Outcome {
    for (fault, joint) in
        [(Fault::LagJoint { ms: 260.0 }, Some("waist")), (Fault::LagAll { ms: 260.0 }, None)]
    {
        let (clean, faulty) = pair(fault, joint)?;
        // Halfway from home to the tray: passed on the move, once on the move up.
        let level = 0.5 * quantile(clean.follower[0].iter().copied(), 1.0);
        let before = crossings(&clean.truth.moment_s, &clean.follower[0], level);
        let after = crossings(&faulty.truth.moment_s, &faulty.follower[0], level);
        let ([before], [after]) = (&before[..], &after[..]) else {
            return Err(format!("{before:?} {after:?}").into());
        };
        assert!((after - before - 0.26).abs() < 0.01, "late by {} s", after - before);
        let truths = faulty.truth.joints[0].lag_s - clean.truth.joints[0].lag_s;
        assert!((truths - 0.26).abs() < 1e-12);
    }
    Ok(())
}

#[test]
fn a_dead_joint_stands_while_its_leader_moves() -> Outcome {
    let (_, faulty) = pair(Fault::DeadJoint, Some("elbow"))?;
    assert!(range_deg(&faulty.follower[ELBOW]) < 3.0 * COUNT_DEG);
    assert!(range_deg(&faulty.leader[ELBOW]) > 15.0);
    Ok(())
}

#[test]
fn a_weak_gain_droops_by_the_planted_size() -> Outcome {
    let (clean, faulty) = pair(Fault::TrackingError { deg: 12.0 }, Some("shoulder"))?;
    let change =
        |k: usize| (faulty.follower[SHOULDER][k] - clean.follower[SHOULDER][k]).to_degrees();
    let changes: Vec<f64> = (0..clean.frames()).map(change).collect();
    let (low, high) = (quantile(changes.clone(), 0.0), quantile(changes.clone(), 1.0));
    assert!((low + 12.0).abs() < 1.0 && (high - 12.0).abs() < 1.0, "{low} to {high}");
    let middle = quantile(changes.clone(), 0.5);
    let p95 = quantile(changes.iter().map(|c| (c - middle).abs()), 0.95);
    assert!(p95 > 8.0, "{p95}");
    Ok(())
}

#[test]
fn offset_and_gain_are_as_planted() -> Outcome {
    let (clean, offset) = pair(Fault::NeutralOffset { deg: 4.2 }, Some("elbow"))?;
    let moved = |k: usize| (offset.follower[ELBOW][k] - clean.follower[ELBOW][k]).to_degrees();
    let median = quantile((0..clean.frames()).map(moved), 0.5);
    assert!((median - 4.2).abs() < COUNT_DEG, "{median}");
    let (clean, gain) = pair(Fault::GainMismatch { factor: 1.12 }, Some("elbow"))?;
    let ratio = range_deg(&gain.follower[ELBOW]) / range_deg(&clean.follower[ELBOW]);
    assert!((ratio - 1.12).abs() < 0.02, "{ratio}");
    Ok(())
}

#[test]
fn at_the_stop_the_joint_stands_while_the_leader_pushes_on() -> Outcome {
    for (joint, name, stop_deg) in [(4, "wrist_roll", None), (1, "shoulder", Some(-20.0))] {
        let (_, faulty) = pair(Fault::LimitDwell { push_deg: 9.0, stop_deg }, Some(name))?;
        let [lower, upper] = faulty.truth.joints[joint].stops_rad;
        let (leader, follower) = (&faulty.leader[joint], &faulty.follower[joint]);
        let held = |k: &usize| {
            let [s, a] = [follower[*k].to_degrees(), leader[*k].to_degrees()];
            let (low, high) = (lower.to_degrees(), upper.to_degrees());
            let at = |stop: f64| (s - stop).abs() <= 2.0 * COUNT_DEG;
            (at(low) && a < low - 5.0) || (at(high) && a > high + 5.0)
        };
        let share = (0..faulty.frames()).filter(held).count() as f64 / faulty.frames() as f64;
        assert!(share > 0.06, "{name}: {share}");
        let beyond = |v: &f64| *v > upper + 0.002 || *v < lower - 0.002;
        assert!(!follower.iter().any(beyond), "the stop yields");
    }
    Ok(())
}

#[test]
fn without_torque_the_joints_stand_and_then_catch_up() -> Outcome {
    let (clean, faulty) = pair(Fault::TrackingLoss { seconds: 1.4 }, None)?;
    let [start, end] = faulty.truth.answers[0].frames[0];
    let longest = |c: &Vec<f64>| range_deg(&c[start + 1..end]);
    assert!(faulty.follower.iter().map(longest).fold(0.0, f64::max) < 2.0 * COUNT_DEG);
    assert!(clean.follower.iter().map(longest).fold(0.0, f64::max) > 10.0);
    let last = faulty.frames() - 1;
    let left = (faulty.follower[0][last] - clean.follower[0][last]).abs().to_degrees();
    assert!(left < 1.0, "{left}");
    Ok(())
}

#[test]
fn somebody_pushes_the_follower_while_the_leader_lies_still() -> Outcome {
    let (_, faulty) = pair(Fault::ExternalDisturbance { deg: 6.0 }, Some("elbow"))?;
    let [start, end] = faulty.truth.answers[0].frames[0];
    assert!(range_deg(&faulty.follower[ELBOW][start..end]) > 5.5);
    assert!(range_deg(&faulty.leader[ELBOW][start..end]) < 0.2);
    Ok(())
}

#[test]
fn the_jaws_stop_at_the_plug_unless_there_is_none() -> Outcome {
    let (clean, empty) = pair(Fault::NoGrasp, None)?;
    let closed = |values: &[f64]| quantile(values.iter().copied(), 0.1).to_degrees();
    assert!(closed(&clean.follower[5]) - closed(&clean.leader[5]) > 5.0);
    assert!((closed(&empty.follower[5]) - closed(&empty.leader[5])).abs() < 1.0);
    Ok(())
}

#[test]
fn a_fault_on_one_arm_leaves_the_other_alone() -> Outcome {
    let recipe = Recipe { joints: 14, ..Recipe::default() };
    let clean = simulate(&recipe)?.remove(0);
    let faulty = simulate(&recipe.with(Fault::DeadJoint, Some("right_elbow"), &[]))?.remove(0);
    let changed: Vec<usize> =
        (0..14).filter(|j| clean.follower[*j] != faulty.follower[*j]).collect();
    assert_eq!(changed, [9]);
    Ok(())
}
