//! A reference to a measurement of another check.

use super::definition::Check;
use crate::model::{CheckSpec, Metric};

/// One measurement of one check, as another part of the program reads it.
#[derive(Debug, Clone, Copy)]
pub struct MetricOf {
    /// The check that writes it.
    pub check: &'static CheckSpec,
    /// The measurement.
    pub metric: &'static Metric,
}

impl MetricOf {
    /// This measurement of this check.
    pub const fn new(check: &'static Check, metric: &'static Metric) -> Self {
        Self { check: check.spec, metric }
    }

    /// Whether a column of this check and this metric holds it.
    pub fn is(&self, check: &CheckSpec, metric: &Metric) -> bool {
        self.check.is(check) && self.metric.is(metric)
    }

    /// Whether the check declares the measurement.
    #[cfg(test)]
    pub fn is_declared(&self) -> bool {
        self.check.metrics.iter().any(|declared| declared.is(self.metric))
    }
}
