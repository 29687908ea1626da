//! Two samples: does one tend to be larger, by how much, and do their shapes differ.

use statrs::distribution::{ContinuousCDF, Normal};

/// Most pairs for which the rank test is exact.
pub(super) const EXACT_PAIRS: usize = 2_500;

/// The Mann–Whitney rank test.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MannWhitney {
    /// Number of pairs in which `x` is the greater, ties counting a half.
    pub u: f64,
    /// Two-sided p-value, if both come from one distribution.
    pub p_value: f64,
    /// One-sided p-value of a count as large.
    pub p_greater: f64,
    /// Whether the p-values are exact and not a normal approximation.
    pub exact: bool,
}

/// Mann–Whitney U of `x` over `y`: exact for small samples without ties, else as
/// [`mann_whitney_normal`]. `NaN`s if either is empty.
///
/// Source: Mann & Whitney 1947; Hollander & Wolfe, Nonparametric Statistical Methods, ch. 4.
pub fn mann_whitney(x: &[f64], y: &[f64]) -> MannWhitney {
    let pairs = x.len() * y.len();
    let tied = pooled(x, y).windows(2).any(|w| w[0] == w[1]);
    if tied || pairs == 0 || pairs > EXACT_PAIRS {
        return mann_whitney_normal(x, y);
    }
    let counts = rank_counts(x.len(), y.len());
    let total: f64 = counts.iter().sum();
    let (u, _) = pairs_greater(x, y);
    let above: f64 = counts[u as usize..].iter().sum();
    let below: f64 = counts[..=u as usize].iter().sum();
    MannWhitney::of(u, above / total, below / total, true)
}

/// Mann–Whitney U of `x` over `y` by the normal approximation, ties and continuity allowed for.
/// `NaN`s if either is empty.
pub fn mann_whitney_normal(x: &[f64], y: &[f64]) -> MannWhitney {
    let (greater, tied) = pairs_greater(x, y);
    let u = greater + 0.5 * tied;
    let (m, n) = (x.len() as f64, y.len() as f64);
    let total = m + n;
    let ties: f64 = pooled(x, y)
        .chunk_by(|a, b| a == b)
        .map(|group| group.len() as f64)
        .map(|size| size.powi(3) - size)
        .sum();
    let variance = m * n / 12.0 * (total + 1.0 - ties / (total * (total - 1.0)));
    let normal = Normal::standard();
    let deviate = |shift: f64| (u - m * n / 2.0 + shift) / variance.sqrt();
    MannWhitney::of(u, normal.sf(deviate(-0.5)), normal.cdf(deviate(0.5)), false)
}

impl MannWhitney {
    fn of(u: f64, p_greater: f64, p_less: f64, exact: bool) -> Self {
        Self { u, p_value: (2.0 * p_greater.min(p_less)).min(1.0), p_greater, exact }
    }
}

/// Both samples together, ascending.
fn pooled(x: &[f64], y: &[f64]) -> Vec<f64> {
    let mut pooled: Vec<f64> = x.iter().chain(y).copied().collect();
    pooled.sort_unstable_by(f64::total_cmp);
    pooled
}

/// Pairs in which `x` is greater, and pairs that tie.
fn pairs_greater(x: &[f64], y: &[f64]) -> (f64, f64) {
    let mut sorted = y.to_vec();
    sorted.sort_unstable_by(f64::total_cmp);
    x.iter().fold((0.0, 0.0), |(greater, ties), value| {
        let below = sorted.partition_point(|other| other < value);
        let upto = sorted.partition_point(|other| other <= value);
        (greater + below as f64, ties + (upto - below) as f64)
    })
}

/// In how many orders of `m` and `n` values each U occurs.
pub(super) fn rank_counts(m: usize, n: usize) -> Vec<f64> {
    // The generating function is a Gaussian binomial: multiply by (1 − q^(n+i)), divide by
    // (1 − q^i), for i = 1 … m.
    let most = m * n;
    let mut counts = vec![0.0; most + 1];
    counts[0] = 1.0;
    for i in 1..=m {
        for u in (n + i..=most).rev() {
            counts[u] -= counts[u - n - i];
        }
        for u in i..=most {
            counts[u] += counts[u - i];
        }
    }
    counts
}
