//! Which findings of an episode are its own: what affects the session as a whole is reported once.

use super::suppress::follows;
use crate::model::{CardPlace, Finding, Outcome, Scorecard, SessionFinding};

/// For each card the places of its own findings, in their order.
pub(super) fn own(outcome: &Outcome) -> Vec<Vec<usize>> {
    let systemic = &outcome.session.findings;
    let cards = CardPlace::all(outcome.cards.len()).zip(&outcome.cards);
    cards.map(|(place, card)| own_of(systemic, place, card)).collect()
}

fn own_of(systemic: &[SessionFinding], place: CardPlace, card: &Scorecard) -> Vec<usize> {
    let findings = card.findings.iter().enumerate();
    let shared = |finding: &Finding| {
        let mut covering = systemic.iter().filter(|cause| cause.covers(place));
        covering.any(|cause| same(finding, cause) || follows(finding, cause))
    };
    findings.filter(|(_, finding)| !shared(finding)).map(|(at, _)| at).collect()
}

/// Whether the session reports the same thing, at least as bad.
fn same(finding: &Finding, cause: &SessionFinding) -> bool {
    let metric = cause.metric.is(finding.metric);
    let pooled = cause.metric.pool.is_some() && finding.metric.pool.is_some();
    cause.check.is(finding.check)
        && (metric || pooled)
        && cause.joint == finding.joint
        && cause.severity >= finding.severity
}
