//! What "worst" means, for findings, readings and episodes alike.

use std::cmp::Ordering;

use crate::model::{Bound, CardPlace, Scorecard};

/// How far a value is on the way from nothing to its limit, which is 1, on the scale of a drawing.
/// Any value is infinitely far beyond a limit of zero. What is farther out is worse.
pub fn scaled(bound: Bound, value: f64, limit: f64) -> f64 {
    // A limit below zero is that of the other side, seen in a mirror.
    let (mirrored, value, limit) =
        if limit < 0.0 { (true, -value, -limit) } else { (false, value, limit) };
    let below = matches!(bound, Bound::Below(_));
    let (share, whole) = if below == mirrored { (value, limit) } else { (limit, value) };
    if share <= 0.0 {
        0.0
    } else if whole <= 0.0 {
        f64::INFINITY
    } else {
        share / whole
    }
}

/// Order of two readings, each with its bound, value and limit, the worse the greater. Of those
/// that are infinitely far out the one farther from its limit is worse.
pub(super) fn worse(a: (Bound, f64, f64), b: (Bound, f64, f64)) -> Ordering {
    let scale = |(bound, value, limit): (Bound, f64, f64)| scaled(bound, value, limit);
    let distance = |(_, value, limit): (Bound, f64, f64)| (value - limit).abs();
    scale(a).total_cmp(&scale(b)).then(distance(a).total_cmp(&distance(b)))
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
    same.map(|f| scaled(f.metric.bound, f.value, f.limit)).fold(0.0, f64::max).min(1e9)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::Limit;

    /// One scale for both sides and for limits of zero.
    #[test]
    fn what_is_farther_out_is_worse() {
        let (above, below) = (Bound::Above(Limit::default()), Bound::Below(Limit::default()));
        let readings = [
            (above, 0.5, 1.0),
            (above, 2.0, 1.0),
            (below, 10.0, 30.0),
            (above, 4.0, 1.0),
            // Infinitely far out: the farther from the limit the worse.
            (above, 1.0, 0.0),
            (above, 2.0, 0.0),
            (below, 0.0, 3.0),
        ];
        for pair in readings.windows(2) {
            assert_eq!(worse(pair[0], pair[1]), Ordering::Less, "{pair:?}");
        }
        assert_eq!(scaled(below, 10.0, 30.0), 3.0);
        assert_eq!(scaled(above, 1.0, 0.0), f64::INFINITY);
        // A correlation that must not lie below -0.8.
        assert_eq!(scaled(below, -1.0, -0.8), 1.25);
        assert_eq!(scaled(below, 0.9, -0.8), 0.0);
    }
}
