//! Location, scale and outlyingness that a few wild values cannot move.

use super::quantile::{Definition, Real, median_in_place, quantile_sorted};

/// Makes the median absolute deviation estimate a normal's standard deviation: 1 / Φ⁻¹(¾).
pub const MAD_TO_SIGMA: f64 = 1.482_602_218_505_602;

/// Median of unsorted data, which is copied.
pub fn median<T: Real>(values: &[T]) -> f64 {
    median_in_place(&mut values.to_vec())
}

/// Median and median absolute deviation from it, not scaled to a normal.
pub fn median_mad<T: Real>(values: &[T]) -> (f64, f64) {
    let centre = median(values);
    let mut deviations: Vec<f64> = values.iter().map(|&v| (v.into() - centre).abs()).collect();
    (centre, median_in_place(&mut deviations))
}

/// Median absolute deviation in the units of a normal's standard deviation.
pub fn mad_sigma<T: Real>(values: &[T]) -> f64 {
    MAD_TO_SIGMA * median_mad(values).1
}

/// Modified z-scores, 0.6745 (x − median) / MAD; beyond 3.5 is a suspect value.
///
/// Source: Iglewicz & Hoaglin 1993, as in NIST/SEMATECH 1.3.5.17. With a MAD of zero every value
/// off the median scores an infinity, and the median itself zero.
pub fn modified_z<T: Real>(values: &[T]) -> Vec<f64> {
    let (centre, mad) = median_mad(values);
    let score = |v: f64| if v == centre { 0.0 } else { 0.6745 * (v - centre) / mad };
    values.iter().map(|&v| score(v.into())).collect()
}

/// A box plot's quartiles and fences.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fences {
    /// Lower and upper quartile.
    pub quartiles: (f64, f64),
    /// 1.5 interquartile ranges beyond the quartiles: beyond lies a mild outlier.
    pub inner: (f64, f64),
    /// 3 interquartile ranges beyond: beyond lies an extreme outlier.
    pub outer: (f64, f64),
}

/// Fences of ascending data, with quartiles of the given definition.
///
/// Source: NIST/SEMATECH 7.1.6, whose quartiles are type 6.
pub fn fences<T: Real>(sorted: &[T], definition: Definition) -> Fences {
    let low = quantile_sorted(sorted, 0.25, definition);
    let high = quantile_sorted(sorted, 0.75, definition);
    let range = high - low;
    let at = |k: f64| (low - k * range, high + k * range);
    Fences { quartiles: (low, high), inner: at(1.5), outer: at(3.0) }
}
