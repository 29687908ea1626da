//! Is there a dimension of state or action that does not change in the whole dataset?
//!
//! Training divides each dimension by its standard deviation: where that is next to nothing, noise
//! is blown up to fill the scale, and at run time the smallest difference becomes an enormous input or
//! a wild command.
//!
//! How: the standard deviation over all frames of the dataset, as a multiple of what it should at
//! least be: a tenth of a degree, two steps of the joint's grid where coarse-quantisation found
//! one, and a ten-thousandth of its range, whichever is most. Below 1 the dimension is constant. Rates,
//! flags and efforts have no size in degrees: for them the share of the range alone counts.
//!
//! Traps: a joint that the task does not use is constant too, and breaks training all the same:
//! leave it out there, or lock it on the arm. Constant in some episodes only is no matter here (see
//! dead-joint). Needs 3 episodes. Linear joints count in metres.

use super::normalisation::{Spread, spreads};
use crate::check::signal::coarse_quantisation;
use crate::check::{Check, CohortSheet, MetricOf, Params};
use crate::model::{
    CheckSpec, Family, JointId, Ledger, MIN_STD, Metric, Param, Reading, Rig, SessionReading,
    SpanList, Unit, count,
};
use crate::num::quantile::median_in_place;

static FOLLOWER: Metric = Metric::of_joint(
    "follower_spread",
    Unit::Ratio,
    "standard deviation of the follower's positions over what it should at least be",
)
.below(None, Some(1.0))
.recovery(
    "leave the dimension out of training, or train without dividing by its standard deviation",
);
static LEADER: Metric = Metric::of_joint(
    "leader_spread",
    Unit::Ratio,
    "standard deviation of the leader's positions over what it should at least be",
)
.below(None, Some(1.0))
.recovery(
    "leave the dimension out of training, or train without dividing by its standard deviation",
);
static LEAST: Param = Param {
    id: "least_spread",
    summary: "standard deviation that a dimension should at least have",
    unit: Unit::Radian,
    default: MIN_STD,
};

static SPEC: CheckSpec = CheckSpec {
    id: "constant-dimension",
    family: Family::Session,
    applies_to: crate::model::SignalKind::ALL,
    needs: crate::model::Relation::Nothing,
    advisory: false,
    source: include_str!("constant_dimension.rs"),
    cause: "the joint never moved, or its column holds something else",
    remedy: "see that the joint is read and moves; leave the dimension out of training if the task \
             does not use it",
    reference: "common practice, no source",
    metrics: &[&FOLLOWER, &LEADER],
    params: &[&LEAST],
};

/// Fewer episodes are no dataset.
const ENOUGH: usize = 3;

/// The step of a sensor.
static STEP: MetricOf =
    MetricOf::new(&coarse_quantisation::CHECK, &coarse_quantisation::RESOLUTION);

/// The check; the head of this file is its manual.
pub static CHECK: Check = Check::of_session(&SPEC, measure).looking_at_motion();

fn measure(ledger: &Ledger, params: &Params, sheet: &mut CohortSheet<'_>) {
    let episodes = (0..ledger.rows()).filter(|row| ledger.motion(*row).is_some()).count();
    if episodes < ENOUGH {
        sheet.not_assessed(&SPEC, format!("{}, needs {ENOUGH}", count(episodes, "episode")));
        return;
    }
    let rig = sheet.rig;
    for dimension in spreads(ledger) {
        let joint = dimension.joint as JointId;
        let smallest = if has_unit(rig, &dimension) {
            params.get(&SPEC, &LEAST).max(2.0 * resolution(ledger, joint))
        } else {
            f64::MIN_POSITIVE
        };
        let side = if dimension.leader { "leader" } else { "follower" };
        let reading = Reading {
            check: &SPEC,
            metric: if dimension.leader { &LEADER } else { &FOLLOWER },
            joint: Some(joint),
            value: spread(&dimension, smallest),
            spans: SpanList::default(),
            note: Some(format!("the {side} over all frames").into()),
        };
        let episodes = episodes as u64;
        sheet.session.push(SessionReading { reading, from: None, episodes, of: episodes });
    }
}

/// Whether a size in radians or metres means something: not of rates, flags and efforts, of which a
/// dimension is constant only if it hardly leaves one value.
fn has_unit(rig: Option<&Rig>, dimension: &Spread) -> bool {
    let Some(rig) = rig else { return true };
    let moves = rig.joints.get(dimension.joint).is_none_or(|joint| joint.kind().moves());
    moves && !(dimension.leader && rig.actions.kind.is_rate())
}

fn spread(dimension: &Spread, smallest: f64) -> f64 {
    dimension.deviation / smallest.max(1e-4 * dimension.range)
}

/// The step of a joint's grid, if it is a coarse one.
fn resolution(ledger: &Ledger, joint: JointId) -> f64 {
    let mut columns = ledger.columns();
    let column = columns.find(|c| STEP.is(c.0, c.1) && c.2 == Some(joint));
    let values = column.map_or(&[][..], |c| c.3);
    let mut steps: Vec<f64> =
        values.iter().filter(|v| v.is_finite()).map(|v| f64::from(*v)).collect();
    let step = median_in_place(&mut steps);
    if step.is_finite() { step } else { 0.0 }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cohort::motions::{ledger, read, sound};
    use crate::demo::{DemoError, Recording};

    fn constant(sheet: &CohortSheet) -> Vec<(&'static str, Option<JointId>)> {
        let told = sheet.session.iter().map(|s| &s.reading).filter(|r| r.value < 1.0);
        told.map(|r| (r.metric.id, r.joint)).collect()
    }

    #[test]
    fn sound_sessions_have_none() -> Result<(), DemoError> {
        for seed in 0..40 {
            let sheet = read(&CHECK, &ledger(&sound(seed, 3 + seed % 9), |_, r| r)?);
            assert!(constant(&sheet).is_empty() && sheet.session.len() >= 12, "{seed}");
        }
        Ok(())
    }

    #[test]
    fn small_increments_are_no_constant() -> Result<(), DemoError> {
        let change = |_, mut r: Recording| {
            r.leader[1].iter_mut().for_each(|v| *v *= 1e-3);
            r.leader[2].fill(0.0);
            r
        };
        let ledger = ledger(&sound(1, 4), change)?;
        let named = || (0..6).map(|n| crate::model::Joint::named(format!("j{n}"))).collect();
        let mut rig = Rig { joints: named(), ..Rig::default() };
        rig.actions.kind = crate::model::ActionKind::Delta;
        let mut sheet = CohortSheet::default();
        sheet.rig = Some(&rig);
        measure(&ledger, &Params::default(), &mut sheet);
        assert_eq!(constant(&sheet), [("leader_spread", Some(2))]);
        Ok(())
    }

    #[test]
    fn a_joint_that_never_moves_is_named_and_one_still_in_one_episode_is_not()
    -> Result<(), DemoError> {
        let count = std::f64::consts::TAU / 4096.0;
        let change = |id, mut r: Recording| {
            // A count of noise is no motion.
            for (i, value) in r.follower[2].iter_mut().enumerate() {
                *value = if i % 3 == 0 { count } else { 0.0 };
            }
            r.leader[4].fill(1.25);
            if id == 1 {
                r.follower[0].fill(0.0);
            }
            r
        };
        let sheet = read(&CHECK, &ledger(&sound(1, 6), change)?);
        assert_eq!(constant(&sheet), [("follower_spread", Some(2)), ("leader_spread", Some(4))]);
        let few = read(&CHECK, &ledger(&sound(1, 2), |_, r| r)?);
        assert_eq!(few.not_assessed[0].reason, "2 episodes, needs 3");
        Ok(())
    }
}
