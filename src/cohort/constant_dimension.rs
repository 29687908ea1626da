//! Is there a dimension of state or action that does not change in the whole dataset?
//!
//! Training divides each dimension by its standard deviation: where that is next to nothing, noise
//! is blown up to fill the scale, and at run time the smallest difference becomes an enormous input or
//! a wild command.
//!
//! How: the standard deviation over all frames of the dataset, as a multiple of what it should at
//! least be: a tenth of a degree, two steps of the joint's grid where coarse-quantisation found
//! one, and a ten-thousandth of its range, whichever is most. Below 1 the dimension is constant. Rates,
//! flags and efforts have no size in degrees: for them the share of the range alone counts. Where the
//! other side of the joint moves ten times as far as it should at least, one of the two columns is
//! wrong: that fails. Where nothing moves on either side, the joint was parked or never used, which is
//! no fault of the rig: that warns.
//!
//! Traps: a joint that the task does not use breaks training all the same: leave it out there, or
//! declare it with `parked = true`. A dimension without a partner may be dead or unused, which
//! nobody can tell: it warns. Constant in some episodes only is no matter here (see dead-joint). Needs 3
//! episodes. Linear joints count in metres.

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
static UNUSED: Metric = Metric::of_joint(
    "unused_spread",
    Unit::Ratio,
    "the smaller standard deviation of both sides over what it should at least be, where neither moves",
)
.below(Some(1.0), None)
.recovery(
    "declare the joint with parked = true if it is parked, or leave the dimension out of training",
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
    remedy: "see that the joint is read and moves; if it is parked, declare it with parked = true; if \
             the task does not use it, leave the dimension out of training",
    reference: "common practice, no source",
    metrics: &[&FOLLOWER, &LEADER, &UNUSED],
    params: &[&LEAST],
};

/// The other side of a joint moves if its standard deviation is this many times the smallest one.
const MOVES: f64 = 10.0;
/// Fewer episodes are no dataset.
const ENOUGH: usize = 3;

/// The step of a sensor.
static STEP: MetricOf =
    MetricOf::new(&coarse_quantisation::CHECK, &coarse_quantisation::RESOLUTION);

/// The check; the head of this file is its manual.
pub static CHECK: Check = Check::of_session(&SPEC, measure).looking_at_motion().of_storage();

fn measure(ledger: &Ledger, params: &Params, sheet: &mut CohortSheet<'_>) {
    let episodes = (0..ledger.rows()).filter(|row| ledger.motion(*row).is_some()).count();
    if episodes < ENOUGH {
        sheet.not_assessed(&SPEC, format!("{}, needs {ENOUGH}", count(episodes, "episode")));
        return;
    }
    let rig = sheet.rig;
    let sizes: Vec<Size> = spreads(ledger)
        .into_iter()
        .map(|dimension| {
            let joint = dimension.joint as JointId;
            let smallest = if has_unit(rig, &dimension) {
                params.get(&SPEC, &LEAST).max(2.0 * resolution(ledger, joint))
            } else {
                f64::MIN_POSITIVE
            };
            Size { leader: dimension.leader, joint, value: spread(&dimension, smallest) }
        })
        .collect();
    let mut unused: Vec<JointId> = Vec::new();
    for size in &sizes {
        let (metric, note) = match (size.still_on_both(&sizes, rig), size.leader) {
            (true, _) if unused.contains(&size.joint) => continue,
            (true, _) => (&UNUSED, "it did not move in any frame".to_owned()),
            (false, true) => (&LEADER, "the leader over all frames".to_owned()),
            (false, false) => (&FOLLOWER, "the follower over all frames".to_owned()),
        };
        let of_joint = sizes.iter().filter(|other| other.joint == size.joint);
        let value = if metric.is(&UNUSED) {
            unused.push(size.joint);
            of_joint.map(|other| other.value).fold(f64::INFINITY, f64::min)
        } else {
            size.value
        };
        let (joint, spans, note) = (Some(size.joint), SpanList::default(), Some(note.into()));
        let reading = Reading { check: &SPEC, metric, joint, value, spans, note };
        let episodes = episodes as u64;
        sheet.session.push(SessionReading { reading, from: None, episodes, of: episodes });
    }
}

/// How far one side of a joint moves, in what it should at least.
struct Size {
    leader: bool,
    joint: JointId,
    value: f64,
}

impl Size {
    /// Whether this side is constant, and the other one moves no more, or is none to compare with.
    fn still_on_both(&self, all: &[Self], rig: Option<&Rig>) -> bool {
        let described = rig.and_then(|rig| rig.joints.get(usize::from(self.joint)));
        let paired = described.is_none_or(|joint| joint.unpaired.is_none());
        let other = all.iter().find(|o| o.joint == self.joint && o.leader != self.leader);
        let moves = |o: &Self| o.value >= MOVES && paired;
        let smaller = other.map_or(self.value, |o| o.value.min(self.value));
        smaller < 1.0 && self.value < MOVES && !other.is_some_and(moves)
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
    use crate::model::Bound;

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

    /// Neither side moves but for a count of noise: nothing was commanded, so nothing is broken. A
    /// follower that stays while its leader moves, or the other way round, fails.
    #[test]
    fn a_joint_that_neither_side_moves_is_told_as_unused() -> Result<(), DemoError> {
        let parked = |still: [bool; 2]| {
            let change = move |_, mut r: Recording| {
                let noise = |i: usize| if i.is_multiple_of(7) { 1.5e-3 } else { 0.0 };
                for (side, still) in [&mut r.follower, &mut r.leader].into_iter().zip(still) {
                    if still {
                        side[3].iter_mut().enumerate().for_each(|(i, v)| *v = 0.4 + noise(i));
                    }
                }
                r
            };
            let sheet = read(&CHECK, &ledger(&sound(2, 6), change)?);
            Ok::<_, DemoError>(constant(&sheet))
        };
        assert_eq!(parked([true, true])?, [("unused_spread", Some(3))]);
        assert_eq!(parked([true, false])?, [("follower_spread", Some(3))]);
        assert_eq!(parked([false, true])?, [("leader_spread", Some(3))]);
        let Bound::Below(limit) = UNUSED.bound else { panic!("no lower limit") };
        assert_eq!(limit.fail, None, "nobody commanded it, so nothing failed");
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
