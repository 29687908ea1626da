//! The session's numbers, one dense column per measurement and joint.

use crate::model::{JointId, Metric, Reading};

/// Dense `f32` columns, one per metric and joint, one row per episode; `NaN` where not read.
#[derive(Debug, Default)]
pub struct Ledger {
    columns: Vec<Column>,
    rows: usize,
}

#[derive(Debug)]
struct Column {
    check: &'static str,
    metric: &'static Metric,
    joint: Option<JointId>,
    values: Vec<f32>,
}

impl Ledger {
    /// Adds one episode's readings as the next row.
    pub fn push(&mut self, readings: &[Reading]) {
        for reading in readings {
            let same =
                |c: &Column| std::ptr::eq(c.metric, reading.metric) && c.joint == reading.joint;
            let at = self.columns.iter().position(same).unwrap_or_else(|| {
                self.columns.push(Column {
                    check: reading.check.id,
                    metric: reading.metric,
                    joint: reading.joint,
                    values: Vec::new(),
                });
                self.columns.len() - 1
            });
            let values = &mut self.columns[at].values;
            values.resize(self.rows, f32::NAN);
            values.push(reading.value as f32);
        }
        self.rows += 1;
    }

    /// Number of episodes.
    pub fn rows(&self) -> usize {
        self.rows
    }

    /// Every column: check id, metric, joint, and its values (short where the last episodes have
    /// no reading).
    pub fn columns(
        &self,
    ) -> impl Iterator<Item = (&'static str, &'static Metric, Option<JointId>, &[f32])> {
        self.columns.iter().map(|c| (c.check, c.metric, c.joint, c.values.as_slice()))
    }

    /// Bytes held.
    pub fn size(&self) -> usize {
        self.columns.iter().map(|c| c.values.capacity() * 4).sum()
    }
}
