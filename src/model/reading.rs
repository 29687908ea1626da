//! What a check writes down: readings, and what could not be assessed.

use std::borrow::Cow;

use super::metric::{CheckSpec, Metric};
use super::rig::JointId;
use super::span::SpanList;

/// One finite number that a check measured on one episode.
#[derive(Debug, Clone)]
pub struct Reading {
    /// The check that measured.
    pub check: &'static CheckSpec,
    /// What was measured.
    pub metric: &'static Metric,
    /// On which joint, for a metric per joint.
    pub joint: Option<JointId>,
    /// The number, finite, in the metric's unit.
    pub value: f64,
    /// The frames that bear it out.
    pub spans: SpanList,
    /// What a person should read with it, if it is beyond its limit.
    pub note: Option<Box<str>>,
}

impl Reading {
    /// Whether it is of the same measurement on the same joint.
    pub fn is(&self, check: &CheckSpec, metric: &Metric, joint: Option<JointId>) -> bool {
        self.joint == joint && self.metric.is(metric) && self.check.is(check)
    }
}

/// A measurement that could not be made, and why. Never a pass.
#[derive(Debug, Clone)]
pub struct NotAssessed {
    /// The check that could not measure.
    pub check: &'static CheckSpec,
    /// The joint concerned; none means the whole check.
    pub joint: Option<JointId>,
    /// Why, in words that complete "not assessable: …".
    pub reason: Cow<'static, str>,
}

/// The sheet on which one check writes while it looks at one episode.
#[derive(Debug)]
pub struct Sheet {
    check: &'static CheckSpec,
    readings: Vec<Reading>,
    not_assessed: Vec<NotAssessed>,
}

impl Sheet {
    /// An empty sheet for a check.
    pub fn new(check: &'static CheckSpec) -> Self {
        // One or two measurements of the joints of an arm.
        Self { check, readings: Vec::with_capacity(16), not_assessed: Vec::new() }
    }

    /// Writes an episode-wide reading without spans.
    pub fn put(&mut self, metric: &'static Metric, value: f64) {
        self.put_spans(metric, None, value, SpanList::default());
    }

    /// Writes a joint's reading without spans.
    pub fn put_joint(&mut self, metric: &'static Metric, joint: usize, value: f64) {
        self.put_spans(metric, Some(joint as JointId), value, SpanList::default());
    }

    /// Writes a reading with the frames that bear it out. This is the one place where a number
    /// that is not finite is refused: it is noted as not assessed.
    pub fn put_spans(
        &mut self,
        metric: &'static Metric,
        joint: Option<JointId>,
        value: f64,
        spans: SpanList,
    ) {
        if value.is_finite() {
            let check = self.check;
            self.readings.push(Reading { check, metric, joint, value, spans, note: None });
        } else {
            let reason = format!("{} has no finite value here", metric.id);
            self.not_assessed.push(NotAssessed { check: self.check, joint, reason: reason.into() });
        }
    }

    /// Adds a note to the last reading that was written.
    pub fn note(&mut self, text: impl Into<Box<str>>) {
        if let Some(reading) = self.readings.last_mut() {
            reading.note = Some(text.into());
        }
    }

    /// Notes that the whole check could not be assessed.
    pub fn not_assessed(&mut self, reason: impl Into<Cow<'static, str>>) {
        self.not_assessed.push(NotAssessed {
            check: self.check,
            joint: None,
            reason: reason.into(),
        });
    }

    /// Notes that one joint could not be assessed.
    pub fn not_assessed_joint(&mut self, joint: usize, reason: impl Into<Cow<'static, str>>) {
        let joint = Some(joint as JointId);
        self.not_assessed.push(NotAssessed { check: self.check, joint, reason: reason.into() });
    }

    /// Takes over what was written about some of the joints: `joints` are their places in the rig.
    pub fn adopt(&mut self, part: Self, joints: &[usize]) {
        let place = |joint: Option<JointId>| {
            joint.map(|joint| joints.get(joint as usize).map_or(joint, |at| *at as JointId))
        };
        let readings = part.readings.into_iter();
        self.readings.extend(readings.map(|read| Reading { joint: place(read.joint), ..read }));
        let missed = part.not_assessed.into_iter();
        self.not_assessed
            .extend(missed.map(|missed| NotAssessed { joint: place(missed.joint), ..missed }));
    }

    /// The readings and what was not assessed so far.
    #[cfg(any(test, feature = "internals"))]
    pub fn parts(&self) -> (&[Reading], &[NotAssessed]) {
        (&self.readings, &self.not_assessed)
    }

    /// Takes the sheet apart.
    pub fn into_parts(self) -> (Vec<Reading>, Vec<NotAssessed>) {
        (self.readings, self.not_assessed)
    }
}
