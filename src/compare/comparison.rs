//! All aspects of two sessions, compared.

use std::collections::BTreeMap;

use super::advice::{self, Advice};
use super::aspect::Aspect;
use super::decide;
use super::row::{Draft, Row};
use super::scalar;
use super::schema::{self, SchemaPoint};
use super::side::{Pair, Side, Tasks};
use super::start_pose;
use super::statistics;
use super::workspace;
use crate::model::Severity;

/// Two sessions, compared.
#[derive(Debug, Clone, PartialEq)]
pub struct Comparison {
    /// Episodes of A and of B.
    pub episodes: (usize, usize),
    /// Seconds of A and of B.
    pub duration_s: (f64, f64),
    /// Recordings that are in both, by their content.
    pub shared: usize,
    /// Joints that both have.
    pub pairs: Vec<Pair>,
    /// Tasks of both, and of one alone.
    pub tasks: Tasks,
    /// What must be equal.
    pub schema: Vec<SchemaPoint>,
    /// Every comparison, aspects in their order, joints in the order of A.
    pub rows: Vec<Row>,
    /// What to do.
    pub advice: Advice,
}

impl Comparison {
    /// The worst difference of all.
    pub fn worst(&self) -> Option<Severity> {
        self.rows.iter().filter_map(Row::severity).max()
    }

    /// Whether both sides hold the same recordings and no others, understood in the same way.
    pub fn identical(&self) -> bool {
        identical(self.shared, self.episodes, &self.schema)
    }
}

/// Compares B with A.
#[cfg(any(test, feature = "internals"))]
pub fn compare(a: &Side, b: &Side) -> Comparison {
    let one = Undecided::of(a, b);
    let adjusted = decide::adjusted(&one.drafts);
    let tests = adjusted.len();
    one.decided(a, &b.episodes, &mut adjusted.into_iter(), tests)
}

/// Answers pairs that have their first side in common, each with the names of the episodes of its
/// second. P-values are adjusted for all comparisons of all pairs together.
pub fn decide_together(a: &Side, pairs: Vec<(Undecided, &[String])>) -> Vec<Comparison> {
    let adjusted = decide::adjusted(pairs.iter().flat_map(|(one, _)| &one.drafts));
    let tests = adjusted.len();
    let mut adjusted = adjusted.into_iter();
    pairs.into_iter().map(|(one, names)| one.decided(a, names, &mut adjusted, tests)).collect()
}

/// Two sessions held against each other, before the answers. It needs nothing more of what was
/// measured on B.
#[derive(Debug, Clone)]
pub struct Undecided {
    drafts: Vec<Draft>,
    episodes: (usize, usize),
    duration_s: (f64, f64),
    shared: usize,
    pairs: Vec<Pair>,
    tasks: Tasks,
    schema: Vec<SchemaPoint>,
    period_s: f64,
}

impl Undecided {
    /// Of B and A.
    pub fn of(a: &Side, b: &Side) -> Self {
        let pairs = Pair::all(&a.rig, &b.rig);
        let tasks = Tasks::of(a, b);
        let schema = schema::schema(a, b);
        let episodes = (a.ledger.rows(), b.ledger.rows());
        let mut drafts = vec![schema::draft(&schema, episodes)];
        drafts.extend(scalar::rig(a, b, &pairs));
        if pairs.iter().any(|pair| !pair.gripper) {
            drafts.push(workspace::workspace(a, b, &pairs, &tasks));
            drafts.push(start_pose::start_pose(a, b, &pairs, &tasks));
        }
        drafts.extend(scalar::behaviour(a, b, &tasks));
        drafts.extend(statistics::statistics(a, b, &pairs));
        Self {
            drafts,
            episodes,
            duration_s: (a.ledger.duration_s().iter().sum(), b.ledger.duration_s().iter().sum()),
            shared: shared(a, b),
            pairs,
            tasks,
            schema,
            period_s: scalar::period_s(a, b),
        }
    }

    /// With its answers. `names` are those of the episodes of B; `adjusted` yields the p-values of its
    /// drafts next, adjusted for so many `tests`.
    fn decided(
        self,
        a: &Side,
        names: &[String],
        adjusted: &mut dyn Iterator<Item = f64>,
        tests: usize,
    ) -> Comparison {
        let Self { drafts, episodes, duration_s, shared, pairs, tasks, schema, period_s } = self;
        let identical = identical(shared, episodes, &schema);
        let mut rows = decide::decide(drafts, (adjusted, tests), identical, (&a.episodes, names));
        decide::suppress(&mut rows);
        for row in &mut rows {
            row.cost = cost(row, a, &pairs);
        }
        rows.sort_by_key(|row| (row.aspect, row.joint));
        let advice = advice::advise(&rows, &schema, &pairs, period_s);
        Comparison { episodes, duration_s, shared, pairs, tasks, schema, rows, advice }
    }
}

fn identical(shared: usize, episodes: (usize, usize), schema: &[SchemaPoint]) -> bool {
    let alike = !schema.iter().any(|point| point.differs);
    shared == episodes.0 && shared == episodes.1 && alike
}

/// Recordings that are in both sides; a recording that a side holds twice counts twice only where
/// the other does too.
fn shared(a: &Side, b: &Side) -> usize {
    let counts = |side: &Side| {
        let mut counts: BTreeMap<u64, usize> = BTreeMap::new();
        for motion in (0..side.ledger.rows()).filter_map(|row| side.ledger.motion(row)) {
            *counts.entry(motion.content).or_default() += 1;
        }
        counts
    };
    let in_b = counts(b);
    counts(a).iter().map(|(content, n)| n.min(in_b.get(content).unwrap_or(&0))).sum()
}

/// What a change on the rig costs if it is left in: how far the action's target is off, in
/// standard deviations of its dimension in A.
fn cost(row: &Row, a: &Side, pairs: &[Pair]) -> Option<f64> {
    let pair = pairs.get(row.joint?)?;
    let change = row.change?.abs();
    let std = || statistics::action_std(a, pair.a);
    match row.aspect {
        Aspect::Offset | Aspect::Backlash | Aspect::Sag => Some(change / std()?),
        // A gain is off by its share of the joint's position, whose standard deviation is the
        // unit; a mean is counted in standard deviations.
        Aspect::Gain | Aspect::Mean => Some(change),
        Aspect::Lag => Some(change * statistics::action_speed(a, pair.a)? / std()?),
        _ => None,
    }
}
