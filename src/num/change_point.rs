//! One change of level in a series: where, how large, and its p-value.
//!
//! The place is that of least squares. The p-value is by ranks: one outlier at an end is
//! not a change, and the noise need not be normal.

use statrs::distribution::{ContinuousCDF, Normal};

use super::quantile::median_in_place;
use super::twosample::mann_whitney;

/// Two levels that leave the least squares.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TwoLevels {
    /// Index of the first value of the second level.
    pub at: usize,
    /// Mean before and from there on.
    pub means: (f64, f64),
    /// Median from there on minus the median before.
    pub step: f64,
    /// Sum of the squares about one level, and about two.
    pub squares: (f64, f64),
}

/// Sums of how far the values up to each one lie above `level`, in their unit. They run straight while
/// the level stays, and bend where it changes.
///
/// Source: Page 1954, Biometrika 41, 100–115 (from memory); NIST/SEMATECH e-Handbook 6.3.2.3.
pub fn running_sums(values: &[f64], level: f64) -> impl Iterator<Item = f64> + '_ {
    values.iter().scan(0.0, move |sum, value| {
        *sum += value - level;
        Some(*sum)
    })
}

/// The change of level that leaves the least squares, with at least `side` values on each side. `None` if
/// there are not so many.
///
/// Source: Cobb 1978, Biometrika 65(2), 243–251, for one change in a mean.
pub fn two_levels(values: &[f64], side: usize) -> Option<TwoLevels> {
    let n = values.len();
    let side = side.max(1);
    if n < 2 * side {
        return None;
    }
    // About the overall mean, so that a large offset does not eat the digits.
    let mean = values.iter().sum::<f64>() / n as f64;
    let whole: f64 = values.iter().map(|v| (v - mean).powi(2)).sum();
    let mut best = (0, f64::NEG_INFINITY, 0.0);
    for (index, sum) in running_sums(values, mean).enumerate().take(n - side) {
        let before = (index + 1) as f64;
        // What two levels take off the squares, as the sums on both sides differ in sign only.
        let taken = sum * sum * (1.0 / before + 1.0 / (n as f64 - before));
        if index + 1 >= side && taken > best.1 {
            best = (index + 1, taken, sum);
        }
    }
    let (at, taken, sum) = best;
    let means = (mean + sum / at as f64, mean - sum / (n - at) as f64);
    let middle = |part: &[f64]| median_in_place(&mut part.to_vec());
    let step = middle(&values[at..]) - middle(&values[..at]);
    Some(TwoLevels { at, means, step, squares: (whole, (whole - taken).max(0.0)) })
}

/// P-value of a change of level anywhere in independent values of one distribution,
/// two-sided, with at least `side` values on each side; 1 if there are not so many.
///
/// The rank test of Mann and Whitney at the place where it is clearest, times the number of places
/// (Bonferroni): never below the true p-value. Pettitt 1979 (Applied Statistics 28(2), 126–135)
/// bounds the same statistic for long series only.
pub fn change_p_value(values: &[f64], side: usize) -> f64 {
    let n = values.len();
    let side = side.max(1);
    if n < 2 * side {
        return 1.0;
    }
    let ranks = mid_ranks(values);
    let mean = f64::midpoint(n as f64, 1.0);
    let mut clearest = (side, -1.0);
    for (index, sum) in running_sums(&ranks, mean).enumerate().take(n - side) {
        let before = (index + 1) as f64;
        let clear = sum * sum / (before * (n as f64 - before));
        if index + 1 >= side && clear > clearest.1 {
            clearest = (index + 1, clear);
        }
    }
    let (before, after) = values.split_at(clearest.0);
    let places = (n - 2 * side + 1) as f64;
    let p = mann_whitney(before, after).p_value;
    // Values that are all the same have no ranks to compare.
    if p.is_finite() { (p * places).min(1.0) } else { 1.0 }
}

/// A p-value where each value carries only a `factor`th of the information of an independent one.
pub fn discounted(p_value: f64, factor: f64) -> f64 {
    let normal = Normal::standard();
    let deviate = normal.inverse_cdf((p_value / 2.0).clamp(1e-300, 0.5));
    (2.0 * normal.cdf(deviate / factor.max(1.0).sqrt())).min(1.0)
}

/// Ranks from one on, those that tie sharing theirs.
fn mid_ranks(values: &[f64]) -> Vec<f64> {
    let mut order: Vec<usize> = (0..values.len()).collect();
    order.sort_by(|&a, &b| values[a].total_cmp(&values[b]));
    let mut ranks = vec![0.0; values.len()];
    let mut start = 0;
    for tied in order.chunk_by(|&a, &b| values[a] == values[b]) {
        let rank = start as f64 + f64::midpoint(tied.len() as f64, 1.0);
        for &index in tied {
            ranks[index] = rank;
        }
        start += tied.len();
    }
    ranks
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_step_is_found_where_it_is_with_its_height() {
        for offset in [0.0, 1e7] {
            let noise = [0.1, -0.2, 0.0, 0.2, -0.1, 0.05];
            let value = |i: usize| offset + noise[i % 6] + if i < 17 { 0.0 } else { 2.0 };
            let values: Vec<f64> = (0..30).map(value).collect();
            let Some(found) = two_levels(&values, 4) else { panic!("thirty values have levels") };
            assert_eq!(found.at, 17);
            assert!((found.step - 2.0).abs() < 0.11, "{found:?}");
            assert!((found.means.1 - found.means.0 - 2.0).abs() < 0.1, "{found:?}");
            assert!(found.squares.1 < 0.05 * found.squares.0);
        }
        assert_eq!(two_levels(&[1.0; 7], 4), None);
    }

    #[test]
    fn the_p_value_of_a_clean_step_is_exact() {
        // Ten above ten: 2 of the C(20, 10) = 184,756 orders, at 13 places.
        let values: Vec<f64> = (0..20).map(|i| f64::from((i * 7) % 10 + 100 * (i / 10))).collect();
        assert!((change_p_value(&values, 4) - 13.0 * 2.0 / 184_756.0).abs() < 1e-12);
        assert_eq!(change_p_value(&[3.0; 40], 4), 1.0);
        assert_eq!(change_p_value(&values[..7], 4), 1.0);
        // One wild value at the end is none.
        let mut wild: Vec<f64> = (0..40).map(|i| f64::from((i * 17) % 40)).collect();
        wild[38] = 1e6;
        assert!(change_p_value(&wild, 4) > 0.2);
    }

    #[test]
    fn values_that_tell_less_prove_less() {
        assert!((discounted(0.05, 1.0) - 0.05).abs() < 1e-9);
        // 1.96 sigma become 0.98.
        assert!((discounted(0.05, 4.0) - 0.327_1).abs() < 1e-3);
        assert!(discounted(0.0, 2.0) < 1e-100);
    }
}
