//! The scale estimator Qn: as robust as the MAD, but it needs no centre, and uses the data far better
//! (82 % at the normal, against the MAD's 37 %).
//!
//! Source: Rousseeuw & Croux 1993, JASA 88(424), 1273–1283. Qn's constant is 2.21914 (the paper
//! prints 2.2219); the factors for small samples are those of Croux & Rousseeuw 1992, and for Qn
//! beyond n = 12 the refit that R's robustbase has used since 2010 (those beyond n = 12 written
//! down from memory).

/// Makes Qn estimate a normal's standard deviation: 1 / (√2 Φ⁻¹(5/8)), as commonly rounded.
const QN_CONSTANT: f64 = 2.219_14;
/// Qn's factors for n = 2 … 12.
const QN_FACTORS: [f64; 11] = [
    0.399_356, 0.993_65, 0.513_21, 0.844_01, 0.612_20, 0.858_77, 0.669_93, 0.873_44, 0.720_14,
    0.889_06, 0.757_43,
];

/// Qn: the first quartile, as it were, of all pairwise distances, scaled for normal data.
/// `NaN` below two values.
pub fn qn(values: &[f64]) -> f64 {
    let n = values.len();
    QN_CONSTANT * qn_raw(values) * qn_factor(n)
}

/// Qn without constant or small-sample factor: the k-th smallest pairwise distance,
/// k = C(⌊n/2⌋ + 1, 2).
///
/// Non-negative floating-point numbers are ordered like their bits, so the k-th distance is found
/// by bisecting on bits and counting the pairs within with two pointers. Once few pairs are left
/// between the bounds they are listed and selected from: some twenty linear passes, no table of
/// all pairs.
pub fn qn_raw(values: &[f64]) -> f64 {
    let n = values.len();
    if n < 2 {
        return f64::NAN;
    }
    let sorted = ascending(values);
    let half = n / 2 + 1;
    let wanted = half * (half - 1) / 2;
    // The distance wanted lies in [low, high]; `short` pairs are closer than `low`.
    let (mut low, mut high) = (0u64, (sorted[n - 1] - sorted[0]).to_bits());
    let (mut short, mut within) = (0, n * (n - 1) / 2);
    while low < high && within - short > 4 * n {
        let middle = low + (high - low) / 2;
        let pairs = pairs_within(&sorted, f64::from_bits(middle));
        if pairs >= wanted {
            (high, within) = (middle, pairs);
        } else {
            (low, short) = (middle + 1, pairs);
        }
    }
    if low == high {
        return f64::from_bits(low);
    }
    let mut left = distances_between(&sorted, f64::from_bits(low), f64::from_bits(high));
    *left.select_nth_unstable_by(wanted - short - 1, f64::total_cmp).1
}

/// The distances of all pairs from `low` to `high`, both included.
fn distances_between(sorted: &[f64], low: f64, high: f64) -> Vec<f64> {
    let mut found = Vec::new();
    let mut first = 0;
    for (i, value) in sorted.iter().enumerate() {
        while value - sorted[first] > high {
            first += 1;
        }
        let distances = sorted[first..i].iter().map(|other| value - other);
        found.extend(distances.take_while(|&distance| distance >= low));
    }
    found
}

/// Number of pairs no further apart than this.
fn pairs_within(sorted: &[f64], distance: f64) -> usize {
    let mut first = 0;
    let mut pairs = 0;
    for (i, value) in sorted.iter().enumerate() {
        while value - sorted[first] > distance {
            first += 1;
        }
        pairs += i - first;
    }
    pairs
}

fn qn_factor(n: usize) -> f64 {
    let size = n as f64;
    match n {
        0..=1 => 1.0,
        2..=12 => QN_FACTORS[n - 2],
        _ if n % 2 == 1 => 1.0 / (1.0 + (1.601_88 + (-2.1284 - 5.172 / size) / size) / size),
        _ => 1.0 / (1.0 + (3.675_61 + (1.9654 + (6.987 - 77.0 / size) / size) / size) / size),
    }
}

fn ascending(values: &[f64]) -> Vec<f64> {
    let mut sorted = values.to_vec();
    sorted.sort_unstable_by(f64::total_cmp);
    sorted
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Against the definition, on skewed values with ties.
    #[test]
    fn it_agrees_with_all_pairs_listed() {
        for n in 2..70usize {
            let values: Vec<f64> = (0..n).map(|i| ((i * i * 37) % 101) as f64 / 8.0).collect();
            let distance = |i: usize, j: usize| (values[i] - values[j]).abs();
            let mut pairs: Vec<f64> = (0..n)
                .flat_map(|i| (0..i).map(move |j| (i, j)))
                .map(|(i, j)| distance(i, j))
                .collect();
            pairs.sort_by(f64::total_cmp);
            let half = n / 2 + 1;
            assert_eq!(qn_raw(&values), pairs[half * (half - 1) / 2 - 1], "Qn of {n}");
        }
    }
}
