//! Two samples: does one tend to be larger, by how much, and do their shapes differ.

use statrs::distribution::{ContinuousCDF, Normal};

use super::quantile::median_in_place;

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

/// Hodges–Lehmann shift: the median of all differences x − y. Quadratic. `NaN` if either is empty.
pub fn hodges_lehmann(x: &[f64], y: &[f64]) -> f64 {
    let mut differences: Vec<f64> = x.iter().flat_map(|x| y.iter().map(move |y| x - y)).collect();
    median_in_place(&mut differences)
}

/// Cliff's delta: share of pairs in which `x` is larger minus the share in which it is smaller.
///
/// Source: Cliff 1993, Psychological Bulletin 114(3), 494–509.
pub fn cliffs_delta(x: &[f64], y: &[f64]) -> f64 {
    2.0 * probability_greater(x, y) - 1.0
}

/// Probability that a value of `x` exceeds one of `y`, ties counting a half.
///
/// Source: Vargha & Delaney 2000 (their A₁₂).
pub fn probability_greater(x: &[f64], y: &[f64]) -> f64 {
    let (greater, ties) = pairs_greater(x, y);
    (greater + 0.5 * ties) / (x.len() * y.len()) as f64
}

/// The largest gap between both empirical distribution functions (Kolmogorov–Smirnov D).
pub fn ks_distance(x: &[f64], y: &[f64]) -> f64 {
    sweep(x, y).map(|(gap, _)| gap.abs()).fold(0.0, f64::max)
}

/// P-value of a [`ks_distance`] if both samples come from one continuous distribution: counts the
/// paths through the lattice of both samples that stay within it. Takes `x.len() * y.len()` steps.
///
/// Source: Hodges 1958, Arkiv för Matematik 3(43), 469–486.
pub fn ks_p_value(x: &[f64], y: &[f64]) -> f64 {
    let (m, n) = (x.len() as f64, y.len() as f64);
    let within = ks_distance(x, y) - 0.5 / (m * n);
    // Shares of paths that stayed inside, so that no number grows beyond bounds.
    let mut row = vec![0.0; y.len() + 1];
    for i in 0..=x.len() {
        for j in 0..=y.len() {
            let inside = (i as f64 / m - j as f64 / n).abs() < within;
            let left = (m - i as f64 + 1.0, n - j as f64 + 1.0);
            let paths = match (i, j) {
                (0, 0) => 1.0,
                (0, _) => row[j - 1] * left.1 / (m + left.1),
                (_, 0) => row[0] * left.0 / (left.0 + n),
                _ => {
                    let down = row[j] * left.0 / (left.0 + left.1 - 1.0);
                    down + row[j - 1] * left.1 / (left.0 - 1.0 + left.1)
                }
            };
            row[j] = if inside { paths } else { 0.0 };
        }
    }
    1.0 - row[y.len()]
}

/// Earth mover's distance: the area between both empirical distribution functions.
pub fn wasserstein(x: &[f64], y: &[f64]) -> f64 {
    sweep(x, y).map(|(gap, width)| gap.abs() * width).sum()
}

/// Squared energy distance 2E|X−Y| − E|X−X′| − E|Y−Y′| of the two samples as they stand, which in
/// one dimension is twice the area under the squared gap.
///
/// Source: Székely & Rizzo 2013, Journal of Statistical Planning and Inference 143(8), 1249–1272.
pub fn energy_distance_squared(x: &[f64], y: &[f64]) -> f64 {
    2.0 * sweep(x, y).map(|(gap, width)| gap * gap * width).sum::<f64>()
}

/// The gap F(x) − G(x) between neighbouring values of both samples, and how far it reaches.
fn sweep(x: &[f64], y: &[f64]) -> impl Iterator<Item = (f64, f64)> {
    let weight = |sample: &[f64], sign: f64| sign / sample.len() as f64;
    let (up, down) = (weight(x, 1.0), weight(y, -1.0));
    let mut steps: Vec<(f64, f64)> =
        x.iter().map(|&v| (v, up)).chain(y.iter().map(|&v| (v, down))).collect();
    steps.sort_unstable_by(|a, b| a.0.total_cmp(&b.0));
    let mut gap = 0.0;
    (1..steps.len()).filter_map(move |i| {
        gap += steps[i - 1].1;
        let width = steps[i].0 - steps[i - 1].0;
        (width > 0.0).then_some((gap, width))
    })
}
