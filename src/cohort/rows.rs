//! Rows of the ledger that belong together, and a column's values over them.

use crate::check::MetricOf;
use crate::model::{CheckSpec, JointId, Ledger, Metric, Reading, SessionReading, SpanList};

/// Episodes that may be compared with each other, as rows of the ledger in their order: those of
/// one task.
pub(super) fn groups(ledger: &Ledger) -> Vec<Vec<usize>> {
    ledger.rows_by_task().into_iter().map(|(_, rows)| rows).collect()
}

/// One measurement of one joint, or of the whole episode, over some rows.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Series {
    /// The joint.
    pub joint: Option<JointId>,
    /// Rows that have a reading.
    pub rows: Vec<usize>,
    /// What was read there.
    pub values: Vec<f64>,
}

/// Everything that was read of this measurement, joint by joint; nothing where no row has it.
pub(super) fn series(ledger: &Ledger, what: MetricOf, rows: &[usize]) -> Vec<Series> {
    let columns = ledger.columns().filter(|c| what.is(c.0, c.1));
    let of = |joint, values: &[f32]| {
        let there = rows.iter().filter_map(|&row| {
            let value = f64::from(*values.get(row)?);
            value.is_finite().then_some((row, value))
        });
        let (rows, values): (Vec<usize>, Vec<f64>) = there.unzip();
        Series { joint, rows, values }
    };
    let all = columns.map(|(_, _, joint, values)| of(joint, values));
    let mut all: Vec<Series> = all.filter(|series| !series.rows.is_empty()).collect();
    all.sort_by_key(|series| series.joint);
    all
}

/// Reads every series of at least `enough` values, task by task and joint by joint, and keeps the
/// largest reading; where there is none, the most values that a series has.
pub(super) fn largest(
    ledger: &Ledger,
    what: MetricOf,
    enough: usize,
    read: impl Fn(&[f64]) -> SessionReading,
) -> Result<SessionReading, usize> {
    let mut most = 0;
    let mut worst: Option<SessionReading> = None;
    for rows in groups(ledger) {
        for Series { values, .. } in series(ledger, what, &rows) {
            most = most.max(values.len());
            if values.len() >= enough {
                let read = read(&values);
                if worst.as_ref().is_none_or(|w| w.reading.value < read.reading.value) {
                    worst = Some(read);
                }
            }
        }
    }
    worst.ok_or(most)
}

/// A reading without spans.
pub(super) fn reading(
    check: &'static CheckSpec,
    metric: &'static Metric,
    joint: Option<JointId>,
    value: f64,
) -> Reading {
    Reading { check, metric, joint, value, spans: SpanList::default(), note: None }
}

/// Episodes with one measurement.
#[cfg(test)]
pub(super) fn measured(what: MetricOf, values: &[f64]) -> Ledger {
    let MetricOf { check, metric } = what;
    let mut ledger = Ledger::default();
    for value in values {
        let read = reading(check, metric, None, *value);
        ledger.push(crate::model::Row { frames: 300, ..Default::default() }, &[read]);
    }
    ledger
}
