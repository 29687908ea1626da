//! Which episodes are nearly the same, and how much two usually differ.

use std::collections::HashMap;

use super::super::paths::some_of;
use super::ENOUGH;
use super::align::{SURE, Timed, least_difference};
use super::reach::candidates;
use crate::model::{Ledger, Motion};
use crate::num::lanes::squared_distance;
use crate::num::quantile::median_in_place;

/// Episodes of which the most alike is looked for, and how many are looked through.
const ASKED: usize = 200;
const AMONG: usize = 1_000;

fn timed(ledger: &Ledger, row: usize) -> Option<Timed> {
    Some(Timed::of(&ledger.motion(row)?, ledger.duration_s()[row]))
}

/// By how much an episode usually differs from the one most like it, both taken from start to end;
/// `None` for too few.
pub(super) fn usual_difference(ledger: &Ledger, rows: &[usize]) -> Option<f64> {
    if rows.len() < ENOUGH {
        return None;
    }
    let motion = |at: usize| ledger.motion(rows[at]);
    let some = some_of(rows.len(), AMONG);
    let among: Vec<Vec<f32>> = some.into_iter().filter_map(motion).map(half).collect();
    let nearest = |of: usize| {
        let others = among.iter().enumerate().filter(|(at, _)| *at != of);
        others.map(|(_, other)| difference(&among[of], other)).fold(f64::INFINITY, f64::min)
    };
    let asked = some_of(among.len(), ASKED);
    let mut all: Vec<f64> = asked.into_iter().map(nearest).collect();
    all.retain(|difference| difference.is_finite());
    (all.len() >= ENOUGH).then(|| median_in_place(&mut all))
}

/// Every other pose, joint by joint.
fn half(motion: Motion<'_>) -> Vec<f32> {
    (0..motion.joints).flat_map(|joint| motion.followers(joint).into_iter().step_by(2)).collect()
}

/// Root mean square of the difference, pose by pose.
fn difference(a: &[f32], b: &[f32]) -> f64 {
    let whole = f64::from(squared_distance(a, b));
    if whole.is_finite() && !a.is_empty() {
        return (whole / a.len() as f64).sqrt();
    }
    let (mut sum, mut count) = (0.0f64, 0usize);
    for (a, b) in a.iter().zip(b) {
        let difference = f64::from(a - b);
        if difference.is_finite() {
            sum += difference * difference;
            count += 1;
        }
    }
    if count > 0 { (sum / count as f64).sqrt() } else { f64::INFINITY }
}

/// Rows that nearly repeat an earlier one, with the one they are most like.
pub(super) fn near_copies(ledger: &Ledger, rows: &[usize], limit: f64) -> HashMap<usize, usize> {
    let mut copies = HashMap::new();
    for (second, earlier) in candidates(ledger, rows) {
        let second = rows[second];
        let Some(own) = timed(ledger, second) else { continue };
        let mut best = (limit, None);
        for first in earlier {
            let first = rows[first];
            let Some(other) = timed(ledger, first) else { continue };
            let difference = least_difference(&other, &own, limit);
            if difference < best.0 {
                best = (difference, Some(first));
            }
            if best.0 < SURE * limit {
                break;
            }
        }
        copies.extend(best.1.map(|first| (second, first)));
    }
    copies
}
