//! Whether a run stays within limits, and the exit code that says so.

use crate::model::{Outcome, Severity, Verdict};

use super::args::FailOn;

/// Whether a run stays within the limits that the person set.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Gate {
    /// Within limits.
    Open,
    /// Beyond limits, or files were not read.
    Closed,
}

impl Gate {
    /// Judges an outcome.
    pub fn of(outcome: &Outcome, fail_on: FailOn) -> Self {
        // With a baseline only what is new counts.
        let verdict = outcome.known.as_ref().map_or(outcome.session.verdict, |k| k.verdict);
        let beyond = match fail_on {
            FailOn::Fail => verdict == Verdict::Fail,
            FailOn::Warn => verdict >= Verdict::Warn,
            FailOn::Never => false,
        };
        // What was not read was not checked, and that is never a pass.
        if beyond || !outcome.unread.is_empty() { Self::Closed } else { Self::Open }
    }

    /// Judges a comparison by the worst difference of all.
    pub fn of_comparison(worst: Option<Severity>, fail_on: FailOn, read: bool) -> Self {
        let beyond = match fail_on {
            FailOn::Fail => worst == Some(Severity::Fail),
            FailOn::Warn => worst.is_some(),
            FailOn::Never => false,
        };
        if beyond || !read { Self::Closed } else { Self::Open }
    }

    /// The exit code.
    pub fn code(self) -> u8 {
        match self {
            Self::Open => 0,
            Self::Closed => 1,
        }
    }
}
