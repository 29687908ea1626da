//! One comparison: of an aspect, as a whole or of one joint.

use super::aspect::{Aspect, Limits};
use crate::model::Severity;
use crate::num::shift::{Shift, Stratum};

/// The three answers.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Answer {
    /// The interval lies within the equivalence margin.
    Same,
    /// A significant change beyond the equivalence margin.
    Different(Severity),
    /// Neither of the two.
    Inconclusive,
}

/// One comparison.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    /// What is compared.
    pub aspect: Aspect,
    /// Index in the comparison's pairs of joints; none for the whole.
    pub joint: Option<usize>,
    /// What stands for A and for B, in the aspect's unit.
    pub values: Option<(f64, f64)>,
    /// The change, in the aspect's scale (logarithm of a ratio).
    pub change: Option<f64>,
    /// Its interval at 95 %, without regard to how many aspects are compared.
    pub interval: Option<(f64, f64)>,
    /// P-value of the change.
    pub p_value: Option<f64>,
    /// The p-value adjusted for all comparisons (Holm).
    pub p_adjusted: Option<f64>,
    /// The equivalence margin and the limit for a failure.
    pub limits: Limits,
    /// Episodes of A and B that it rests on.
    pub episodes: (usize, usize),
    /// The answer.
    pub answer: Answer,
    /// Episodes to a side that would probably settle it.
    pub needs: Option<usize>,
    /// Cost of merging, in standard deviations of the action's dimension.
    pub cost: Option<f64>,
    /// Why nothing can be said, and what a reader should know of it.
    pub notes: Vec<String>,
}

impl Row {
    /// Nothing known yet.
    pub(crate) fn open(aspect: Aspect, joint: Option<usize>, limits: Limits) -> Self {
        Self {
            aspect,
            joint,
            values: None,
            change: None,
            interval: None,
            p_value: None,
            p_adjusted: None,
            limits,
            episodes: (0, 0),
            answer: Answer::Inconclusive,
            needs: None,
            cost: None,
            notes: Vec::new(),
        }
    }

    /// How bad, if it is different.
    pub fn severity(&self) -> Option<Severity> {
        match self.answer {
            Answer::Different(severity) => Some(severity),
            _ => None,
        }
    }

    /// Whether it was measured on both sides at all.
    pub fn measured(&self) -> bool {
        self.aspect == Aspect::Schema || (self.episodes.0 > 0 && self.episodes.1 > 0)
    }
}

/// A comparison before its answer.
#[derive(Debug, Clone)]
pub(super) struct Draft {
    pub row: Row,
    /// Whether the interval lies within the equivalence margin.
    pub within: bool,
    /// Standard error of the change.
    pub error: f64,
    /// Single values with their rows, for a second look without one of them.
    pub samples: Vec<Sample>,
}

/// Values of one task: row and value, of A and of B.
pub(super) type Sample = (Vec<(usize, f64)>, Vec<(usize, f64)>);

impl Draft {
    /// A comparison of which nothing is known yet.
    pub fn empty(aspect: Aspect, joint: Option<usize>, limits: Limits) -> Self {
        let row = Row::open(aspect, joint, limits);
        Self { row, within: false, error: f64::NAN, samples: Vec::new() }
    }

    /// The same with a note.
    pub fn noted(mut self, note: impl Into<String>) -> Self {
        self.row.notes.push(note.into());
        self
    }

    /// Puts a shift in.
    pub fn put(&mut self, shift: &Shift) {
        let (low, high) = shift.interval;
        self.within = low >= -self.row.limits.warn && high <= self.row.limits.warn;
        self.error = shift.error;
        self.row.change = Some(shift.estimate);
        self.row.interval = Some(shift.interval);
        self.row.p_value = Some(shift.p_value);
    }
}

/// The values alone.
pub(super) fn strata(samples: &[Sample]) -> Vec<Stratum> {
    let values = |side: &[(usize, f64)]| side.iter().map(|(_, value)| *value).collect();
    let strata = samples.iter().map(|(a, b)| Stratum { x: values(a), y: values(b) });
    strata.filter(|s| !s.x.is_empty() && !s.y.is_empty()).collect()
}
