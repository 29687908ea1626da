//! Joints of the follower that are exchanged: servo ids, or columns.
//!
//! A policy learns to move one joint in answer to what another one shows; on the rig it moves the
//! wrong one.
//!
//! How: the correlation r of every leader joint with every follower joint at the overall lag, on
//! joints that moved at least 10 degrees (20 mm) in both arms. Each |r| is turned into what the
//! one joint tells of the other, -ln sqrt(1 - r^2), at most 3.5: joints that move together have
//! an |r| of 0.9 and more with each other, and only this scale shows that the right one has 0.999.
//! The assignment of follower joints to leader joints that tells most is sought. If it is not
//! each to its own, the reading is what it gains for each joint that it moves; 0.5 is a joint
//! whose unexplained part shrinks to 0.6 of what it was. Joints must go with their new partner at
//! |r| above 0.9. What the best exchange with one other joint gains or loses is recorded
//! as well: a session whose episodes are each too weak to tell still tells by their median.
//!
//! Traps: a joint that lost its torque goes with none; two that move exactly alike cannot be
//! distinguished, and then each is its own; if they do not go as far, gain mismatch tells.

use crate::check::prelude::{Check, Params, Study};
use crate::model::{Bound, CheckSpec, Family, Limit, Metric, Pool, Sheet, Unit};
use crate::num::assignment::assign;

static SWAP_GAIN: Metric = Metric::of_joint(
    "swap_gain",
    Unit::Ratio,
    "what exchanging the joint for another one gains; zero where it is its own",
)
.above(None, Some(0.5))
.pooled(Pool::Own)
.recovery("exchange the two columns, if both sides name their joints");

static EXCHANGE_MARGIN: Metric = Metric::of_joint(
    "exchange_margin",
    Unit::Ratio,
    "what the best exchange with one other joint gains for each of the two; below zero: loses",
)
.pooled(Pool::Session(Bound::Above(Limit::new(None, Some(0.25)))))
.recovery("exchange the two columns, if both sides name their joints");

static SPEC: CheckSpec = CheckSpec {
    id: "joint-swap",
    family: Family::Mapping,
    applies_to: crate::model::SignalKind::JOINTS,
    needs: crate::model::Relation::Motion,
    advisory: false,
    source: include_str!("joint_swap.rs"),
    cause: "two servo ids or two columns are exchanged",
    remedy: "correct the servo ids",
    reference: "optimal assignment: Kuhn 1955, doi 10.1002/nav.3800020109 (from memory)",
    metrics: &[&SWAP_GAIN, &EXCHANGE_MARGIN],
    params: &[],
};

/// The check; the head of this file is its manual.
pub static CHECK: Check = Check::of_episode(&SPEC, measure);

fn measure(study: &Study<'_>, _: &Params, sheet: &mut Sheet) {
    if let Some(reason) = study.no_leader() {
        return sheet.not_assessed(reason);
    }
    let likeness = study.likeness();
    let lively: Vec<usize> =
        (0..likeness.pairs.len()).filter(|place| likeness.pairs[*place].lively).collect();
    if lively.len() < 2 {
        return sheet.not_assessed("fewer than two joints moved enough in both arms");
    }
    let size = |i: usize, j: usize| likeness.between(lively[i], lively[j]).abs();
    let n = lively.len();
    let own_is_best = (0..n).all(|i| (0..n).all(|j| size(i, j) <= size(i, i)));
    let partner: Vec<usize> =
        if own_is_best { (0..n).collect() } else { assign(n, |i, j| -told(size(i, j))) };
    let moved = || (0..n).filter(|i| partner[*i] != *i);
    let gained: f64 = moved().map(|i| told(size(i, partner[i])) - told(size(i, i))).sum();
    let sure = moved().all(|i| size(i, partner[i]) > 0.9);
    let gain = if sure { gained.max(0.0) / moved().count().max(1) as f64 } else { 0.0 };
    for (i, place) in lively.iter().enumerate() {
        let own = partner[i] == i;
        let joint = likeness.pairs[*place].joint;
        sheet.put_joint(&SWAP_GAIN, joint, if own { 0.0 } else { gain });
        let between = |a: usize, b: usize| told(size(a, b));
        let gains =
            |j: usize| 0.5 * (between(i, j) + between(j, i) - between(i, i) - between(j, j));
        let others = (0..n).filter(|j| *j != i).map(gains);
        sheet.put_joint(&EXCHANGE_MARGIN, joint, others.fold(f64::NEG_INFINITY, f64::max));
    }
}

/// What one of two joints with this correlation tells of the other, in nats, with a lower limit for
/// what no joint explains: counts and backlash.
fn told(correlation: f64) -> f64 {
    -0.5 * (1.0 - correlation * correlation).max(1e-3).ln()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::testing::{Bench, sway};
    use crate::model::{Joint, Rig};

    #[test]
    fn exchanged_joints_are_named_even_if_they_move_together() {
        for rate_hz in [25.0, 30.0, 50.0, 200.0] {
            // The elbow does what the waist does, and a little of its own: they correlate at 0.97.
            // The wrist shows the lag.
            let together = |joint: usize, t: f64| match joint {
                0 => sway(0, t),
                1 => -0.8 * sway(0, t) + 0.3 * sway(1, t),
                _ => sway(1, 0.7 * t + 1.0),
            };
            let bench = || {
                let wrist = |rig: &mut Rig| rig.joints.push(Joint::named("wrist"));
                Bench::at(rate_hz).seconds(20.0).leader(together).rig(wrist)
            };
            let exchanged = [1, 0, 2];
            let swapped = bench()
                .follower(move |joint, t| together(exchanged[joint], t - 0.08))
                .measure(&CHECK);
            assert_eq!(swapped.joint("swap_gain", 2), 0.0, "{rate_hz} Hz");
            for joint in 0..2 {
                assert!(swapped.joint("swap_gain", joint) > 0.5, "{rate_hz} Hz: {swapped:?}");
                assert!(swapped.joint("exchange_margin", joint) > 0.5, "{rate_hz} Hz");
            }
            assert!(swapped.joint("exchange_margin", 2) < 0.0, "{rate_hz} Hz: {swapped:?}");
            let right = bench().measure(&CHECK);
            assert_eq!(right.joint("swap_gain", 0), 0.0, "{rate_hz} Hz");
            assert!(right.joint("exchange_margin", 0) < 0.0, "{rate_hz} Hz: {right:?}");
        }
    }

    #[test]
    fn a_dead_joint_is_no_swap() {
        let dead = |joint: usize, t: f64| if joint == 1 { 0.2 } else { sway(0, t - 0.08) };
        let bench = Bench::at(30.0).seconds(10.0).follower(dead).measure(&CHECK);
        assert!(bench.missing("swap_gain") && bench.is_not_assessed("fewer than two joints"));
    }
}
