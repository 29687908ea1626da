//! Quantiles: the nine sample definitions on sorted data, and one by selection on unsorted data.
//!
//! Source: Hyndman & Fan 1996, The American Statistician 50(4), 361–365. Type 7 is what numpy and R
//! give by default; type 6 is what the NIST/SEMATECH handbook (7.2.6.2) gives first.

use std::cmp::Ordering;

/// A floating-point type that quantiles are taken of.
pub trait Real: Copy + Into<f64> {
    /// Total order, `NaN` last.
    fn order(&self, other: &Self) -> Ordering;
    /// The lesser of two. Quicker than [`Real::order`] over a slice: it needs no total order.
    #[must_use]
    fn lesser(self, other: Self) -> Self;
}

impl Real for f32 {
    fn order(&self, other: &Self) -> Ordering {
        self.total_cmp(other)
    }

    fn lesser(self, other: Self) -> Self {
        self.min(other)
    }
}

impl Real for f64 {
    fn order(&self, other: &Self) -> Ordering {
        self.total_cmp(other)
    }

    fn lesser(self, other: Self) -> Self {
        self.min(other)
    }
}

/// The nine sample quantiles of Hyndman & Fan.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Definition {
    /// Inverse of the empirical distribution function.
    Type1,
    /// As type 1, with the mean of both at a step.
    Type2,
    /// Nearest order statistic, ties to even.
    Type3,
    /// Linear interpolation of the empirical distribution function.
    Type4,
    /// Hydrologists': steps at (k − ½)/n.
    Type5,
    /// Weibull: (n + 1)p.
    Type6,
    /// Mode: 1 + (n − 1)p.
    Type7,
    /// Median-unbiased: (n + ⅓)p + ⅓.
    Type8,
    /// Unbiased for the normal: (n + ¼)p + ⅜.
    Type9,
}

/// The `p`-quantile of ascending data. `NaN` if it is empty.
pub fn quantile_sorted<T: Real>(sorted: &[T], p: f64, definition: Definition) -> f64 {
    use Definition as D;
    let n = sorted.len() as f64;
    let (m, discrete) = match definition {
        D::Type1 | D::Type2 => (0.0, true),
        D::Type3 => (-0.5, true),
        D::Type4 => (0.0, false),
        D::Type5 => (0.5, false),
        D::Type6 => (p, false),
        D::Type7 => (1.0 - p, false),
        D::Type8 => ((p + 1.0) / 3.0, false),
        D::Type9 => (p / 4.0 + 0.375, false),
    };
    // 0.9 * 10 must count as 9 although it may come out a few ulp beside it.
    let position = n * p + m;
    let fuzz = 4.0 * f64::EPSILON * n.max(1.0);
    let below = (position + fuzz).floor();
    let mut share = (position - below).max(0.0);
    if share < fuzz {
        share = 0.0;
    }
    if discrete {
        share = match definition {
            D::Type2 if share == 0.0 => 0.5,
            D::Type3 if share == 0.0 && below % 2.0 == 0.0 => 0.0,
            D::Type1 if share == 0.0 => 0.0,
            _ => 1.0,
        };
    }
    between(sorted, below, share)
}

/// Order statistic `below` (counted from 1) and the next, mixed; both held within the data.
fn between<T: Real>(sorted: &[T], below: f64, share: f64) -> f64 {
    let Some(last) = sorted.len().checked_sub(1) else { return f64::NAN };
    let at = |rank: f64| -> f64 { sorted[(rank - 1.0).clamp(0.0, last as f64) as usize].into() };
    mix(at(below), at(below + 1.0), share)
}

/// `low` and `high` mixed; exact when either share is nought or both are equal.
fn mix(low: f64, high: f64, share: f64) -> f64 {
    if share <= 0.0 {
        low
    } else if share >= 1.0 {
        high
    } else {
        low + share * (high - low)
    }
}

/// The `p`-quantile (type 7) of unsorted data, by selection: expected linear time. The data is
/// partly reordered. `NaN` if it is empty.
pub fn quantile_in_place<T: Real>(values: &mut [T], p: f64) -> f64 {
    let (rank, share) = rank(values.len(), p);
    if values.is_empty() { f64::NAN } else { select(values, rank, share) }
}

/// Several quantiles (type 7) of unsorted data; `p` ascending. Each selection works on what the
/// last one left above it, so that p50 and then p95 cost one and a half selections, not two.
///
/// Returns `NaN`s if the data is empty.
pub fn quantiles_in_place<T: Real, const N: usize>(values: &mut [T], p: [f64; N]) -> [f64; N] {
    let mut found = [f64::NAN; N];
    if values.is_empty() {
        return found;
    }
    let n = values.len();
    let mut start = 0;
    for (slot, p) in found.iter_mut().zip(p) {
        let (rank, share) = rank(n, p);
        let rank = rank.max(start);
        *slot = select(&mut values[start..], rank - start, share);
        start = rank;
    }
    found
}

/// Median of unsorted data, by selection. The data is partly reordered. `NaN` if it is empty.
pub fn median_in_place<T: Real>(values: &mut [T]) -> f64 {
    quantile_in_place(values, 0.5)
}

/// Zero-based rank below the type-7 quantile of `n` values, and the share of the next one.
fn rank(n: usize, p: f64) -> (usize, f64) {
    let position = n.saturating_sub(1) as f64 * p.clamp(0.0, 1.0);
    (position as usize, position.fract())
}

/// Selects the value of this rank and mixes in the least of those above it.
fn select<T: Real>(values: &mut [T], rank: usize, share: f64) -> f64 {
    let (_, &mut low, above) = values.select_nth_unstable_by(rank, T::order);
    let low: f64 = low.into();
    if share == 0.0 {
        return low;
    }
    let next = above.iter().copied().reduce(T::lesser).map_or(low, Into::into);
    mix(low, next, share)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Selection finds what sorting finds, whichever quantiles are asked for together.
    #[test]
    fn selection_agrees_with_sorting() {
        for n in 1..60usize {
            let values: Vec<f32> = (0..n).map(|i| ((i * 37) % 23) as f32 / 4.0).collect();
            let mut sorted = values.clone();
            sorted.sort_by(f32::total_cmp);
            let p = [0.0, 0.05, 0.5, 0.5, 0.95, 1.0];
            let expected = p.map(|p| quantile_sorted(&sorted, p, Definition::Type7));
            let found = quantiles_in_place(&mut values.clone(), p);
            let single = p.map(|p| quantile_in_place(&mut values.clone(), p));
            for i in 0..p.len() {
                assert!((found[i] - expected[i]).abs() < 1e-12, "{n} values, p {}", p[i]);
                assert!((single[i] - expected[i]).abs() < 1e-12, "{n} values, p {}", p[i]);
            }
        }
    }

    #[test]
    fn nothing_has_no_quantile() {
        assert!(median_in_place::<f32>(&mut []).is_nan());
        assert!(quantile_sorted::<f64>(&[], 0.5, Definition::Type8).is_nan());
    }
}
