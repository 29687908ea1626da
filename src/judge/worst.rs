//! What "worst" means, for findings, readings and episodes alike.

use crate::model::{Bound, CardPlace, Metric, Scorecard};

/// By how many times its limit a reading is beyond it; a limit of zero counts as one.
pub fn excess(bound: Bound, limit: f64, value: f64) -> f64 {
    let scale = if limit == 0.0 { 1.0 } else { limit.abs() };
    match bound {
        Bound::Above(_) => (value - limit) / scale,
        Bound::Below(_) => (limit - value) / scale,
        Bound::Unjudged => 0.0,
    }
}

/// How far a value is on the way from nothing to its limit, which is 1, on the scale of a drawing.
/// Any value is infinitely far beyond a limit of zero.
pub fn scaled(metric: &Metric, value: f64, limit: f64) -> f64 {
    let (share, whole) = match metric.bound {
        Bound::Below(_) => (limit, value),
        Bound::Above(_) | Bound::Unjudged => (value, limit),
    };
    if share <= 0.0 {
        0.0
    } else if whole <= 0.0 {
        f64::INFINITY
    } else {
        share / whole
    }
}

/// The places of the cards, worst first: by verdict, then by how far the worst finding lies beyond
/// its limit, then in the order of the dataset.
pub(super) fn order(cards: &[Scorecard]) -> Vec<CardPlace> {
    let rank: Vec<_> = cards.iter().map(|card| (card.verdict, beyond(card))).collect();
    let mut order: Vec<CardPlace> = CardPlace::all(cards.len()).collect();
    // Stable: what is equally bad stays in the order of the dataset.
    order.sort_by(|a, b| {
        let (a, b) = (rank[a.get()], rank[b.get()]);
        b.0.cmp(&a.0).then(b.1.total_cmp(&a.1))
    });
    order
}

/// How far the worst finding lies on the scale of its limit: whatever is beyond a limit of zero
/// comes first.
fn beyond(card: &Scorecard) -> f64 {
    let worst = card.findings.iter().map(|finding| finding.severity).max();
    let same = card.findings.iter().filter(|finding| Some(finding.severity) == worst);
    same.map(|f| scaled(f.metric, f.value, f.limit)).fold(0.0, f64::max).min(1e9)
}
