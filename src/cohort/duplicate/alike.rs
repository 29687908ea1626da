//! Which episodes are nearly the same, and how much two usually differ.

use std::collections::HashMap;

use super::super::paths::some_of;
use super::ENOUGH;
use super::align::{SURE, Timed, least_difference};
use super::reach::candidates;
use crate::model::{Ledger, Motion, POSES};
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
    let among: Vec<(usize, Motion<'_>)> =
        some_of(rows.len(), AMONG).into_iter().filter_map(|at| Some((at, motion(at)?))).collect();
    let nearest = |(of, own): &(usize, Motion<'_>)| {
        let others = among.iter().filter(|(at, _)| at != of);
        others.map(|(_, other)| difference(own, other)).fold(f64::INFINITY, f64::min)
    };
    let asked = some_of(among.len(), ASKED);
    let mut all: Vec<f64> = asked.into_iter().map(|at| nearest(&among[at])).collect();
    all.retain(|difference| difference.is_finite());
    (all.len() >= ENOUGH).then(|| median_in_place(&mut all))
}

/// Root mean square of the difference, pose by pose.
fn difference(a: &Motion<'_>, b: &Motion<'_>) -> f64 {
    let (mut sum, mut count) = (0.0f64, 0usize);
    for joint in 0..a.joints {
        for pose in (0..POSES).step_by(2) {
            let difference = f64::from(a.follower(joint, pose) - b.follower(joint, pose));
            if difference.is_finite() {
                sum += difference * difference;
                count += 1;
            }
        }
    }
    if count > 0 { (sum / count as f64).sqrt() } else { f64::INFINITY }
}

/// Rows that nearly repeat an earlier one, with the one they are most like.
pub(super) fn near_copies(ledger: &Ledger, rows: &[usize], limit: f64) -> HashMap<usize, usize> {
    let mut best: HashMap<usize, (f64, usize)> = HashMap::new();
    for (first, second) in candidates(ledger, rows) {
        let (first, second) = (rows[first], rows[second]);
        if best.get(&second).is_some_and(|known| known.0 < SURE * limit) {
            continue;
        }
        let (Some(a), Some(b)) = (timed(ledger, first), timed(ledger, second)) else { continue };
        let difference = least_difference(&a, &b, limit);
        if difference >= limit {
            continue;
        }
        let known = best.entry(second).or_insert((difference, first));
        if difference < known.0 {
            *known = (difference, first);
        }
    }
    best.into_iter().map(|(row, (_, of))| (row, of)).collect()
}
