//! A reading that lies beyond its limit.

use super::metric::{CheckSpec, Metric};
use super::rig::JointId;
use super::severity::Severity;
use super::span::SpanList;

/// A reading beyond its limit, with everything a person needs to act.
#[derive(Debug, Clone)]
pub struct Finding {
    /// The check that found it.
    pub check: &'static CheckSpec,
    /// The measurement concerned.
    pub metric: &'static Metric,
    /// Warn or fail.
    pub severity: Severity,
    /// The joint, for a metric per joint.
    pub joint: Option<JointId>,
    /// What was read, in the metric's unit.
    pub value: f64,
    /// The limit it went beyond.
    pub limit: f64,
    /// The frames that bear it out.
    pub spans: SpanList,
    /// What is particular to this finding, such as the features that drive an outlier; may be
    /// empty.
    pub note: String,
}

impl Finding {
    /// Whether it is the same finding of one card, which has one for a measurement and joint.
    pub fn is(&self, other: &Self) -> bool {
        self.joint == other.joint && self.metric.is(other.metric) && self.check.is(other.check)
    }
}
