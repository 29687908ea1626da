//! Picking places that keep their distance, so that planted faults do not run into each other.

use rand::seq::SliceRandom;
use rand_chacha::ChaCha8Rng;

/// Picks up to `count` of the candidates, at least `gap` frames apart, in ascending order.
pub(super) fn apart(
    mut candidates: Vec<usize>,
    count: usize,
    gap: usize,
    rng: &mut ChaCha8Rng,
) -> Vec<usize> {
    candidates.shuffle(rng);
    let most = candidates.iter().copied().max().unwrap_or(0);
    let mut taken = vec![false; most + gap + 1];
    let mut picked = Vec::with_capacity(count);
    for place in candidates {
        if picked.len() == count {
            break;
        }
        let around = place.saturating_sub(gap)..=place + gap;
        if taken[around].iter().any(|t| *t) {
            continue;
        }
        taken[place] = true;
        picked.push(place);
    }
    picked.sort_unstable();
    picked
}

/// Number of frames in a share of an episode: at least one.
pub(super) fn share_of(frames: usize, share: f64) -> usize {
    ((share * frames as f64).round() as usize).max(1)
}
