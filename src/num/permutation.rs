//! P-values by permutation: how often permuted labels give as large a statistic.

use rand::SeedableRng;
use rand::seq::SliceRandom;
use rand_chacha::ChaCha8Rng;

/// Most draws.
const MOST: u32 = 4_999;
/// After so many draws that reach the observed statistic the p-value is settled well enough.
const HITS: u32 = 25;

/// P-value: how often a random permutation of `labels` within each stratum gives a statistic at least
/// as large. Stops early where it is plainly large; valid either way.
///
/// Source: Besag & Clifford 1991, Biometrika 78(2), 301–304.
pub fn permutation_p(
    labels: &[bool],
    strata: &[usize],
    seed: u64,
    statistic: &mut dyn FnMut(&[bool]) -> f64,
) -> f64 {
    let observed = statistic(labels);
    let enough = observed - 1e-9 * observed.abs();
    let groups = groups(strata);
    let mut rng = ChaCha8Rng::seed_from_u64(seed);
    let mut drawn = labels.to_vec();
    let mut deal: Vec<bool> = Vec::new();
    let mut hits = 0;
    for draw in 1..=MOST {
        for group in &groups {
            deal.clear();
            deal.extend(group.iter().map(|at| labels[*at]));
            deal.shuffle(&mut rng);
            for (at, label) in group.iter().zip(&deal) {
                drawn[*at] = *label;
            }
        }
        hits += u32::from(statistic(&drawn) >= enough);
        if hits == HITS {
            return f64::from(hits) / f64::from(draw);
        }
    }
    f64::from(hits + 1) / f64::from(MOST + 1)
}

/// The places of each stratum.
fn groups(strata: &[usize]) -> Vec<Vec<usize>> {
    let mut groups = vec![Vec::new(); strata.iter().max().map_or(0, |most| most + 1)];
    for (at, stratum) in strata.iter().enumerate() {
        groups[*stratum].push(at);
    }
    groups
}

/// Squared energy distance 2E|X−Y| − E|X−X′| − E|Y−Y′| between the points labelled true and the
/// others, from the square table of their distances, row by row; summed over strata, each weighted
/// by m·n/(m + n) of its two sides.
///
/// Source: Székely & Rizzo 2013, Journal of Statistical Planning and Inference 143(8), 1249–1272.
pub fn energy_statistic(distances: &[f64], strata: &[usize], labels: &[bool]) -> f64 {
    let n = labels.len();
    groups(strata)
        .iter()
        .map(|group| {
            let second = group.iter().filter(|at| labels[**at]).count() as f64;
            let first = group.len() as f64 - second;
            if first == 0.0 || second == 0.0 {
                return 0.0;
            }
            let (mut within_first, mut within_second, mut between) = (0.0, 0.0, 0.0);
            for &i in group {
                for &j in group {
                    let distance = distances[i * n + j];
                    match (labels[i], labels[j]) {
                        (false, false) => within_first += distance,
                        (true, true) => within_second += distance,
                        _ => between += distance,
                    }
                }
            }
            let energy = between / (first * second)
                - within_first / (first * first)
                - within_second / (second * second);
            energy * first * second / (first + second)
        })
        .sum()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 3 against 3: of the 20 permutations 2 are as extreme, so the p-value is 0.1.
    #[test]
    fn the_p_value_is_that_of_all_permutations() {
        let values = [0.0, 1.0, 2.0, 10.0, 11.0, 12.0];
        let labels = [false, false, false, true, true, true];
        let mut gap = |labels: &[bool]| -> f64 {
            let sum = |side: bool| -> f64 {
                values.iter().zip(labels).filter(|(_, l)| **l == side).map(|(v, _)| v).sum()
            };
            (sum(true) - sum(false)).abs()
        };
        let p = permutation_p(&labels, &[0; 6], 1, &mut gap);
        assert!((p - 0.1).abs() < 0.05, "{p}");
        // Strata of one side each leave nothing to deal.
        let fixed = permutation_p(&labels, &[0, 0, 0, 1, 1, 1], 1, &mut gap);
        assert_eq!(fixed, 1.0);
    }
}
