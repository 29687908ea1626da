//! Location, scale and outlyingness that a few wild values cannot move.

use super::quantile::{Real, median_in_place};

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
