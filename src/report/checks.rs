//! Which checks a card speaks of: measured, complained, or could not say.

use std::collections::BTreeSet;

use crate::model::{Scorecard, Severity};

/// Number of checks on a card by how they stand.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct CheckCounts {
    /// Checks that measured something.
    pub assessed: usize,
    /// Checks with a failing measurement.
    pub failed: usize,
    /// Checks whose worst measurement is a warning.
    pub warned: usize,
    /// Checks that measured nothing.
    pub not_assessed: usize,
}

/// Counts a card's checks.
pub(super) fn count(card: &Scorecard) -> CheckCounts {
    let with = |severity| -> BTreeSet<&str> {
        let of = |f: &&crate::model::Finding| f.severity == severity;
        card.findings.iter().filter(of).map(|f| f.check.id).collect()
    };
    let failed = with(Severity::Fail);
    let warned = with(Severity::Warn);
    let mut assessed: BTreeSet<&str> = card.readings.iter().map(|r| r.check.id).collect();
    assessed.extend(card.findings.iter().map(|f| f.check.id));
    let not_assessed: BTreeSet<&str> = card.not_assessed.iter().map(|h| h.check.id).collect();
    CheckCounts {
        assessed: assessed.len(),
        failed: failed.len(),
        warned: warned.difference(&failed).count(),
        not_assessed: not_assessed.difference(&assessed).count(),
    }
}
