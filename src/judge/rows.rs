//! The table of measurements: what each check measured at its worst, against its limit.

use std::cmp::Ordering;
use std::collections::BTreeMap;

use super::limits::Limits;
use super::severity::severity;
use super::worst;
use crate::model::{Bound, CheckSpec, JointId, Metric, Outcome, Reading, Scorecard, Severity};

/// One line of the table.
#[derive(Debug, Clone, Copy)]
pub struct Row {
    /// The check.
    pub check: &'static CheckSpec,
    /// What it measured; none for a check that could not be assessed.
    pub shown: Option<Shown>,
}

/// A reading with the limit it is shown against.
#[derive(Debug, Clone, Copy)]
pub struct Shown {
    /// The measurement.
    pub metric: &'static Metric,
    /// The joint, for a measurement per joint.
    pub joint: Option<JointId>,
    /// What was read, in the metric's unit.
    pub value: f64,
    /// The limit that it went beyond, or the first that it kept.
    pub limit: f64,
    /// How bad that is; none within the limit.
    pub severity: Option<Severity>,
}

impl Row {
    /// Place in a list that goes worst first.
    const fn rank(&self) -> u8 {
        match self.shown {
            Some(Shown { severity: Some(Severity::Fail), .. }) => 0,
            Some(Shown { severity: Some(Severity::Warn), .. }) => 1,
            None => 2,
            Some(Shown { severity: None, .. }) => 3,
        }
    }
}

/// One row per check over the session, worst first: of its measurements the one that lies farthest
/// beyond its limit, or the leading one if none does; at its worst reading.
pub(super) fn of_session(
    outcome: &Outcome,
    limits: &Limits,
    checks: &[&'static CheckSpec],
) -> Vec<Row> {
    let worst = worst_readings(outcome);
    let mut rows = Vec::new();
    for &check in checks {
        let of = |metric: &'static Metric| {
            let joints = worst.get(&(check.id, metric.id))?;
            // Ties go to the first joint: `max_by` keeps the last, so it goes through backwards.
            let size =
                |(joint, value): (&Option<JointId>, &f64)| value / limits.scale(metric, *joint);
            let worst = joints.iter().rev().max_by(|a, b| worse(metric, size(*a), size(*b)));
            let (joint, value) = worst?;
            shown(limits, check, metric, *joint, *value)
        };
        let readings: Vec<Shown> = check.metrics.iter().filter_map(|metric| of(metric)).collect();
        // What was measured and has no limit of its own is no gap.
        let gap = outcome.session.not_assessed.iter().any(|hole| hole.check.id == check.id)
            && !measured(outcome, check);
        match worst_of(&readings) {
            Some(shown) => rows.push(Row { check, shown: Some(*shown) }),
            None if gap => rows.push(Row { check, shown: None }),
            None => {}
        }
    }
    rows.sort_by_key(Row::rank);
    rows
}

/// The rows of one card, in the order of the checks: every joint beyond a limit, or the worst joint
/// of the leading measurement if none is.
pub(super) fn of_card(
    card: &Scorecard,
    limits: &Limits,
    checks: &[&'static CheckSpec],
) -> Vec<Row> {
    let mut rows = Vec::new();
    for &check in checks {
        let own: Vec<&Reading> = card.reported().filter(|r| r.check.is(check)).collect();
        let readings: Vec<Shown> = check
            .metrics
            .iter()
            .flat_map(|metric| own.iter().filter(|r| r.metric.is(metric)))
            .filter_map(|r| shown(limits, check, r.metric, r.joint, r.value))
            .collect();
        let mut joints: Vec<Option<JointId>> = Vec::new();
        for reading in readings.iter().filter(|r| r.severity.is_some()) {
            if !joints.contains(&reading.joint) {
                joints.push(reading.joint);
            }
        }
        for joint in &joints {
            let of: Vec<Shown> = readings.iter().filter(|r| r.joint == *joint).copied().collect();
            rows.extend(worst_of(&of).map(|shown| Row { check, shown: Some(*shown) }));
        }
        let gap = card.not_assessed.iter().any(|hole| hole.check.id == check.id) && own.is_empty();
        if joints.is_empty() {
            let leading = readings.first().map(|first| first.metric);
            let of = readings.iter().filter(|r| leading.is_some_and(|l| l.is(r.metric)));
            let size = |s: &Shown| s.value / limits.scale(s.metric, s.joint);
            match of.rev().max_by(|a, b| worse(a.metric, size(a), size(b))) {
                Some(shown) => rows.push(Row { check, shown: Some(*shown) }),
                None if gap => rows.push(Row { check, shown: None }),
                None => {}
            }
        }
    }
    rows
}

/// Whether a check measured anything in any episode or on the session, with or without a limit.
pub(super) fn measured(outcome: &Outcome, check: &CheckSpec) -> bool {
    outcome.ledger.columns().any(|column| column.0.id == check.id)
        || outcome.session.readings.iter().any(|read| read.reading.check.id == check.id)
}

/// The worst reading of each joint, by check and measurement.
type WorstReadings = BTreeMap<(&'static str, &'static str), BTreeMap<Option<JointId>, f64>>;

/// Out of the cards where they kept their readings, at double precision; else out of the ledger.
fn worst_readings(outcome: &Outcome) -> WorstReadings {
    let mut found = WorstReadings::new();
    let mut enter = |check: &'static CheckSpec, metric: &'static Metric, joint, value: f64| {
        let joints = found.entry((check.id, metric.id)).or_default();
        let kept = joints.entry(joint).or_insert(value);
        if worse(metric, *kept, value) == Ordering::Less {
            *kept = value;
        }
    };
    let kept = outcome.cards.iter().any(|card| !card.readings.is_empty());
    if kept {
        for reading in outcome.cards.iter().flat_map(|card| &card.readings) {
            enter(reading.check, reading.metric, reading.joint, reading.value);
        }
    } else {
        for (check, metric, joint, values) in outcome.ledger.columns() {
            // What was not read is neither less nor more than anything.
            let finite = values.iter().copied().filter(|value| value.is_finite());
            let worst = match metric.bound {
                Bound::Below(_) => finite.reduce(f32::min),
                Bound::Above(_) | Bound::Unjudged => finite.reduce(f32::max),
            };
            if let Some(worst) = worst {
                enter(check, metric, joint, f64::from(worst));
            }
        }
    }
    found
}

/// Holds a reading against its limit; `None` for what is never judged.
fn shown(
    limits: &Limits,
    check: &CheckSpec,
    metric: &'static Metric,
    joint: Option<JointId>,
    value: f64,
) -> Option<Shown> {
    let limits = limits.on(check, metric, joint);
    let crossed = severity(check, metric.bound, limits, value);
    let limit = crossed.map(|(_, limit)| limit).or(limits.warn).or(limits.fail)?;
    Some(Shown { metric, joint, value, limit, severity: crossed.map(|(severity, _)| severity) })
}

/// The one farthest beyond its limit; the first if none is.
fn worst_of(shown: &[Shown]) -> Option<&Shown> {
    let beyond = |s: &&Shown| s.severity.is_some();
    let of = |s: &Shown| (s.metric.bound, s.value, s.limit);
    let worst = shown
        .iter()
        .filter(beyond)
        .rev()
        .max_by(|a, b| a.severity.cmp(&b.severity).then_with(|| worst::worse(of(a), of(b))));
    worst.or(shown.first())
}

/// Order of readings of one measurement, the worse the greater.
fn worse(metric: &Metric, a: f64, b: f64) -> Ordering {
    match metric.bound {
        Bound::Below(_) => b.total_cmp(&a),
        Bound::Above(_) | Bound::Unjudged => a.total_cmp(&b),
    }
}
