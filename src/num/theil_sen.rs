//! Lines through medians of pairwise slopes: right as long as fewer than 29 % of points are wild
//! (Theil–Sen) or fewer than half (Siegel).
//!
//! Source: Sen 1968, JASA 63(324), 1379–1389; Siegel 1982, Biometrika 69(1), 242–244. Quadratic in
//! the number of points: thin out more than some thousands.

use statrs::distribution::{ContinuousCDF, Normal};

use super::quantile::median_in_place;
use super::robust::median;

/// A Theil–Sen line.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TheilSen {
    /// Median of the slopes of all pairs that differ in `x`.
    pub slope: f64,
    /// Confidence interval of the slope.
    pub interval: (f64, f64),
    /// median(y) − slope · median(x).
    pub intercept: f64,
    /// median(y − slope · x): centres the residuals on zero.
    pub residual_intercept: f64,
}

/// Theil–Sen slope with its interval at the given confidence, ties in either variable allowed for
/// in Kendall's variance. `None` where no two points differ in `x`.
pub fn theil_sen(x: &[f64], y: &[f64], confidence: f64) -> Option<TheilSen> {
    let mut slopes = Vec::with_capacity(x.len() * x.len().saturating_sub(1) / 2);
    for (i, (x_i, y_i)) in x.iter().zip(y).enumerate() {
        let later = x[i + 1..].iter().zip(&y[i + 1..]).filter(|(x_j, _)| *x_j != x_i);
        slopes.extend(later.map(|(x_j, y_j)| (y_j - y_i) / (x_j - x_i)));
    }
    if slopes.is_empty() {
        return None;
    }
    let interval = interval(&mut slopes, x, y, confidence);
    let slope = median_in_place(&mut slopes);
    let mut residuals: Vec<f64> = x.iter().zip(y).map(|(x, y)| y - slope * x).collect();
    Some(TheilSen {
        slope,
        interval,
        intercept: median(y) - slope * median(x),
        residual_intercept: median_in_place(&mut residuals),
    })
}

/// Sen's interval: the slopes whose ranks lie one normal deviate of Kendall's S from the middle.
/// Found by selection: there are many slopes.
fn interval(slopes: &mut [f64], x: &[f64], y: &[f64], confidence: f64) -> (f64, f64) {
    let size = |n: f64| n * (n - 1.0) * (2.0 * n + 5.0);
    let ties = |values: &[f64]| -> f64 { tie_sizes(values).into_iter().map(size).sum() };
    let variance = (size(x.len().min(y.len()) as f64) - ties(x) - ties(y)) / 18.0;
    let deviate = Normal::standard().inverse_cdf(0.5 + confidence / 2.0);
    let reach = deviate * variance.max(0.0).sqrt();
    let count = slopes.len() as f64;
    let last = slopes.len() - 1;
    let low = f64::midpoint(count, -reach).round_ties_even() - 1.0;
    let high = f64::midpoint(count, reach).round_ties_even();
    let mut at = |rank: f64| {
        let rank = rank.clamp(0.0, last as f64) as usize;
        *slopes.select_nth_unstable_by(rank, f64::total_cmp).1
    };
    (at(low), at(high))
}

/// P-value of a trend, two-sided (Mann–Kendall): ties and
/// continuity allowed for. Quadratic. 1 where all values are the same.
///
/// Source: Mann 1945, Econometrica 13(3), 245–259; Kendall 1975, Rank Correlation Methods.
pub fn trend_p_value(values: &[f64]) -> f64 {
    let mut score = 0i64;
    for (i, value) in values.iter().enumerate() {
        for later in &values[i + 1..] {
            score += i64::from(later > value) - i64::from(later < value);
        }
    }
    let size = |n: f64| n * (n - 1.0) * (2.0 * n + 5.0);
    let ties: f64 = tie_sizes(values).into_iter().map(size).sum();
    let variance = (size(values.len() as f64) - ties) / 18.0;
    if variance <= 0.0 {
        return 1.0;
    }
    let beyond = (score.abs() - 1).max(0) as f64 / variance.sqrt();
    (2.0 * Normal::standard().sf(beyond)).min(1.0)
}

/// How many times each value that occurs more than once occurs.
fn tie_sizes(values: &[f64]) -> Vec<f64> {
    let mut sorted = values.to_vec();
    sorted.sort_unstable_by(f64::total_cmp);
    let groups = sorted.chunk_by(|a, b| a == b).map(|group| group.len() as f64);
    groups.filter(|&size| size > 1.0).collect()
}
