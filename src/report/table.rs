//! The measurements as a table: one row per episode, one column per measurement and joint.
//!
//! Polars sorts, groups and takes quantiles; nothing here judges.

use std::collections::HashMap;

use polars::prelude::*;
use thiserror::Error;

use super::view::View;
use crate::model::{Bound, CheckSpec, JointId, Metric, Reading, Scorecard};
use crate::store::StoreError;

/// The table could not be built or written.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum TableError {
    /// Polars refused.
    #[error("the table could not be built: {0}")]
    Table(#[from] PolarsError),
    /// The Parquet file could not be written.
    #[error("{0}")]
    Store(#[from] StoreError),
    /// The file could not be written.
    #[error("{0}")]
    Written(#[from] std::io::Error),
    /// A value that JSON does not take: a fault of this program.
    #[error("{0}")]
    Json(#[from] serde_json::Error),
}

/// What a column of readings holds.
#[derive(Debug, Clone, Copy)]
struct ReadingColumn {
    check: &'static CheckSpec,
    metric: &'static Metric,
    joint: Option<JointId>,
}

/// One measurement over all episodes that have it, in its SI unit.
#[derive(Debug, Clone, Copy)]
pub struct MetricSummary {
    /// The check.
    pub check: &'static CheckSpec,
    /// The measurement.
    pub metric: &'static Metric,
    /// The joint, for a measurement per joint.
    pub joint: Option<JointId>,
    /// Episodes that have a reading.
    pub episodes: u64,
    /// Median over them.
    pub median: f64,
    /// 95th percentile towards the bad side.
    pub p95: f64,
    /// The worst of them.
    pub worst: f64,
}

/// One row per episode, in the order of the dataset.
#[derive(Debug)]
pub struct ScoreTable {
    frame: DataFrame,
    columns: Vec<ReadingColumn>,
    /// Number of columns that come before the readings.
    fixed: usize,
}

impl ScoreTable {
    /// Builds the table of an outcome's cards.
    ///
    /// # Errors
    /// If polars refuses, which would be a fault of this program.
    pub fn new(view: &View<'_>) -> Result<Self, TableError> {
        let mut all = Self::heads(view);
        let fixed = all.len();
        let cards = &view.outcome.cards;
        let columns = if kept(view) {
            let (columns, values) = readings(view);
            for (column, values) in columns.iter().zip(values) {
                all.push(Column::new(column.name(view).into(), values));
            }
            columns
        } else {
            let (columns, values) = judged(view);
            all.extend(values);
            columns
        };
        Ok(Self { frame: DataFrame::new(cards.len(), all)?, columns, fixed })
    }

    fn heads(view: &View<'_>) -> Vec<Column> {
        let cards = &view.outcome.cards;
        let leading = |card: &Scorecard| card.findings.first().cloned();
        let text = |of: &dyn Fn(&Scorecard) -> Option<String>| -> Vec<Option<String>> {
            cards.iter().map(of).collect()
        };
        vec![
            Column::new("episode".into(), text(&|c| Some(c.key.id.clone()))),
            Column::new("task".into(), text(&|c| c.key.task.as_deref().map(str::to_owned))),
            Column::new("frames".into(), cards.iter().map(|c| c.frames as u64).collect::<Vec<_>>()),
            Column::new(
                "duration_s".into(),
                cards.iter().map(|c| c.duration_s).collect::<Vec<_>>(),
            ),
            Column::new("verdict".into(), text(&|c| Some(c.verdict.word().to_owned()))),
            Column::new("worst_check".into(), text(&|c| leading(c).map(|f| f.check.id.to_owned()))),
            Column::new(
                "worst_joint".into(),
                text(&|c| {
                    leading(c).and_then(|f| f.joint).map(|j| view.rig.joint_name(j).to_owned())
                }),
            ),
        ]
    }

    /// The table itself.
    pub fn frame(&self) -> &DataFrame {
        &self.frame
    }

    /// Every measurement that at least one episode has, in the order of the columns.
    ///
    /// # Errors
    /// If polars refuses, which would be a fault of this program.
    pub fn summaries(&self) -> Result<Vec<MetricSummary>, TableError> {
        let mut out = Vec::with_capacity(self.columns.len());
        for (column, values) in self.columns.iter().zip(&self.frame.columns()[self.fixed..]) {
            let (near, far) = match column.metric.bound {
                Bound::Below(_) => (0.05, 0.0),
                Bound::Above(_) | Bound::Unjudged => (0.95, 1.0),
            };
            let at = |q| -> Result<f64, TableError> {
                let scalar = values.quantile_reduce(q, QuantileMethod::Linear)?;
                Ok(scalar.value().extract::<f64>().unwrap_or(f64::NAN))
            };
            out.push(MetricSummary {
                check: column.check,
                metric: column.metric,
                joint: column.joint,
                episodes: (values.len() - values.null_count()) as u64,
                median: at(0.5)?,
                p95: at(near)?,
                worst: at(far)?,
            });
        }
        Ok(out)
    }
}

impl ReadingColumn {
    fn name(&self, view: &View<'_>) -> String {
        let head = format!("{}/{}", self.check.id, self.metric.id);
        match self.joint {
            None => head,
            Some(joint) => {
                let name = view.rig.joint_name(joint);
                // A table's columns must differ even where the data names two joints alike.
                let alike = view.rig.joints.iter().filter(|j| j.name == name).count();
                if alike == 1 { format!("{head}/{name}") } else { format!("{head}/{name}#{joint}") }
            }
        }
    }
}

/// Whether cards kept their readings.
fn kept(view: &View<'_>) -> bool {
    view.outcome.cards.iter().any(|card| !card.readings.is_empty())
}

/// The columns of readings that occur, by the order of the checks, their metrics, the joints; and
/// the readings of each, one per episode. One pass: a session may hold millions of readings.
fn readings(view: &View<'_>) -> (Vec<ReadingColumn>, Vec<Vec<Option<f64>>>) {
    let cards = &view.outcome.cards;
    let mut at: HashMap<(&str, &str, Option<JointId>), usize> = HashMap::new();
    let mut found: Vec<(ReadingColumn, Vec<Option<f64>>)> = Vec::new();
    for (row, card) in cards.iter().enumerate() {
        // Cards hold their readings in the same order, so the next column is most often the one.
        let mut next = 0;
        for reading in &card.readings {
            let &Reading { check, metric, joint, value, .. } = reading;
            let guessed = found
                .get(next)
                .is_some_and(|(column, _)| reading.is(column.check, column.metric, column.joint));
            let column = if guessed {
                next
            } else {
                *at.entry((check.id, metric.id, joint)).or_insert_with(|| {
                    found.push((ReadingColumn { check, metric, joint }, vec![None; cards.len()]));
                    found.len() - 1
                })
            };
            found[column].1[row] = Some(value);
            next = column + 1;
        }
    }
    in_order(view, &mut found);
    found.into_iter().unzip()
}

/// The columns of readings that are judged, from the ledger: all that a session's view needs where
/// cards did not keep their readings, at a tenth of the memory.
fn judged(view: &View<'_>) -> (Vec<ReadingColumn>, Vec<Column>) {
    let rows = view.outcome.cards.len();
    let mut found: Vec<(ReadingColumn, Column)> = Vec::new();
    for (check, metric, joint, values) in view.outcome.ledger.columns() {
        if !matches!(metric.bound, Bound::Unjudged) {
            let mut values: Vec<Option<f32>> =
                values.iter().map(|value| Some(*value).filter(|v| v.is_finite())).collect();
            values.resize(rows, None);
            let column = ReadingColumn { check, metric, joint };
            // One by one: all of them as options would be twice as much.
            found.push((column, Column::new(column.name(view).into(), values)));
        }
    }
    in_order(view, &mut found);
    found.into_iter().unzip()
}

/// Columns by the order of the checks, their metrics, the joints.
fn in_order<T>(view: &View<'_>, found: &mut [(ReadingColumn, T)]) {
    found.sort_by_key(|(c, _)| {
        let check = view.checks.iter().position(|s| s.id == c.check.id).unwrap_or(usize::MAX);
        let metric = c.check.metrics.iter().position(|m| m.id == c.metric.id);
        (check, metric.unwrap_or(usize::MAX), c.joint)
    });
}
