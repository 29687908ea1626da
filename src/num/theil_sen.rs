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
    let mut slopes = slopes(x, y);
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

/// The slope of [`theil_sen`] and the intercept that centres the residuals on zero: all that most
/// ask for, without the interval, which costs as much again.
pub fn line(x: &[f64], y: &[f64]) -> Option<(f64, f64)> {
    let mut slopes = slopes(x, y);
    if slopes.is_empty() {
        return None;
    }
    let slope = median_in_place(&mut slopes);
    let mut residuals: Vec<f64> = x.iter().zip(y).map(|(x, y)| y - slope * x).collect();
    Some((slope, median_in_place(&mut residuals)))
}

/// Whether the interval of [`theil_sen`] holds zero. For that the slopes on either side need only
/// be counted.
pub fn holds_zero(x: &[f64], y: &[f64], confidence: f64) -> Option<bool> {
    let slopes = slopes(x, y);
    let last = slopes.len().checked_sub(1)?;
    let (low, high) = ranks(last, x, y, confidence);
    let not_above = slopes.iter().filter(|slope| **slope <= 0.0).count();
    let below = slopes.iter().filter(|slope| **slope < 0.0).count();
    Some(not_above > low && below <= high)
}

/// Slopes of all pairs that differ in `x`.
fn slopes(x: &[f64], y: &[f64]) -> Vec<f64> {
    let mut slopes = Vec::with_capacity(x.len() * x.len().saturating_sub(1) / 2);
    for (i, (x_i, y_i)) in x.iter().zip(y).enumerate() {
        let later = x[i + 1..].iter().zip(&y[i + 1..]).filter(|(x_j, _)| *x_j != x_i);
        slopes.extend(later.map(|(x_j, y_j)| (y_j - y_i) / (x_j - x_i)));
    }
    slopes
}

/// Sen's interval: the slopes whose ranks lie one normal deviate of Kendall's S from the middle.
/// Found by selection: there are many slopes.
fn interval(slopes: &mut [f64], x: &[f64], y: &[f64], confidence: f64) -> (f64, f64) {
    let (low, high) = ranks(slopes.len() - 1, x, y, confidence);
    let mut at = |rank: usize| *slopes.select_nth_unstable_by(rank, f64::total_cmp).1;
    (at(low), at(high))
}

/// Ranks, from 0 to `last`, of the slopes at the ends of the interval.
fn ranks(last: usize, x: &[f64], y: &[f64], confidence: f64) -> (usize, usize) {
    let size = |n: f64| n * (n - 1.0) * (2.0 * n + 5.0);
    let ties = |values: &[f64]| -> f64 { tie_sizes(values).into_iter().map(size).sum() };
    let variance = (size(x.len().min(y.len()) as f64) - ties(x) - ties(y)) / 18.0;
    let deviate = Normal::standard().inverse_cdf(0.5 + confidence / 2.0);
    let reach = deviate * variance.max(0.0).sqrt();
    let count = last as f64 + 1.0;
    let low = f64::midpoint(count, -reach).round_ties_even() - 1.0;
    let high = f64::midpoint(count, reach).round_ties_even();
    let held = |rank: f64| rank.clamp(0.0, last as f64) as usize;
    (held(low), held(high))
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

#[cfg(test)]
mod tests {
    use super::*;

    /// The quick answers are those of the whole line, with ties, trends and too few points.
    #[test]
    fn line_and_interval_about_zero_agree_with_the_whole() {
        let noise = |i: usize| ((i * 7919) % 101) as f64 - 50.0;
        for n in [0usize, 1, 2, 3, 12, 40, 97] {
            let x: Vec<f64> = (0..n).map(|i| (i / 2) as f64).collect();
            for trend in [-3.0, -0.6, -0.3, 0.0, 0.3, 0.6, 3.0] {
                let y: Vec<f64> = (0..n).map(|i| trend * i as f64 + noise(i)).collect();
                for confidence in [0.5, 0.95, 0.999] {
                    let whole = theil_sen(&x, &y, confidence);
                    let held = whole.map(|l| l.interval.0 <= 0.0 && l.interval.1 >= 0.0);
                    assert_eq!(holds_zero(&x, &y, confidence), held, "{n} {trend} {confidence}");
                    let both = whole.map(|l| (l.slope, l.residual_intercept));
                    assert_eq!(line(&x, &y), both, "{n} {trend}");
                }
            }
            assert_eq!(holds_zero(&x, &vec![1.0; n], 0.95), theil_sen(&x, &x, 0.95).map(|_| true));
        }
    }
}
