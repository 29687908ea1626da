//! Quantiles of type 7: on sorted data, and by selection on unsorted data.
//!
//! Source: Hyndman & Fan 1996, The American Statistician 50(4), 361–365. Type 7 is what numpy and R
//! give by default.

use super::wide::widely;

mod counted;
mod real;

use counted::{Counted, mix};
pub use real::Real;

/// The `p`-quantile (type 7) of ascending data. `NaN` if it is empty.
pub fn quantile_sorted<T: Real>(sorted: &[T], p: f64) -> f64 {
    let n = sorted.len() as f64;
    // 0.9 * 10 must count as 9 although it may come out a few ulp off.
    let position = n * p + (1.0 - p);
    let fuzz = 4.0 * f64::EPSILON * n.max(1.0);
    let below = (position + fuzz).floor();
    let share = (position - below).max(0.0);
    between(sorted, below, if share < fuzz { 0.0 } else { share })
}

/// Order statistic `below` (counted from 1) and the next, mixed; both held within the data.
fn between<T: Real>(sorted: &[T], below: f64, share: f64) -> f64 {
    let Some(last) = sorted.len().checked_sub(1) else { return f64::NAN };
    let at = |rank: f64| -> f64 { sorted[(rank - 1.0).clamp(0.0, last as f64) as usize].into() };
    mix(at(below), at(below + 1.0), share)
}

/// The `p`-quantile (type 7) of unsorted data, in linear time. The data may be reordered. `NaN` if
/// it is empty.
pub fn quantile_in_place<T: Real>(values: &mut [T], p: f64) -> f64 {
    let [found] = quantiles_in_place(values, [p]);
    found
}

/// Several quantiles (type 7) of unsorted data; `p` ascending.
///
/// Returns `NaN`s if the data is empty.
pub fn quantiles_in_place<T: Real, const N: usize>(values: &mut [T], p: [f64; N]) -> [f64; N] {
    /// Fewer values are selected as quickly by comparing.
    const FEWEST: usize = 48;
    let mut found = [f64::NAN; N];
    let n = values.len();
    if n == 0 {
        return found;
    }
    let ranks = p.map(|p| rank(n, p));
    if n >= FEWEST {
        return widely(Counted { values, ranks });
    }
    // Each selection works on what the last one left above it.
    let mut start = 0;
    for (slot, (rank, share)) in found.iter_mut().zip(ranks) {
        let rank = rank.max(start);
        *slot = select(&mut values[start..], rank - start, share);
        start = rank;
    }
    found
}

/// Median of unsorted data, in linear time. The data may be reordered. `NaN` if it is empty.
pub fn median_in_place<T: Real>(values: &mut [T]) -> f64 {
    quantile_in_place(values, 0.5)
}

/// Zero-based rank below the type-7 quantile of `n` values, and the share of the next one.
fn rank(n: usize, p: f64) -> (usize, f64) {
    let position = n.saturating_sub(1) as f64 * p.clamp(0.0, 1.0);
    (position as usize, position.fract())
}

/// Selects the value of this rank and mixes in the smallest of those above it.
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
            let expected = p.map(|p| quantile_sorted(&sorted, p));
            let found = quantiles_in_place(&mut values.clone(), p);
            let single = p.map(|p| quantile_in_place(&mut values.clone(), p));
            for i in 0..p.len() {
                assert!((found[i] - expected[i]).abs() < 1e-12, "{n} values, p {}", p[i]);
                assert!((single[i] - expected[i]).abs() < 1e-12, "{n} values, p {}", p[i]);
            }
        }
    }

    /// Counting, too, finds what sorting finds: whatever the shape of the data, in both widths.
    #[test]
    fn counting_agrees_with_sorting() {
        type Draw = fn(usize) -> f64;
        let shapes: [Draw; 10] = [
            |i| ((i * 7919) % 1009) as f64,
            |i| (((i * 7919) % 1009) as f64 / 300.0).exp() - 40.0,
            |i| ((i * 7919) % 5) as f64 * 1e-7,
            |i| if i % 211 == 7 { 1e9 } else { (i as f64 * 0.7).sin() },
            |i| -((i * 31) as f64).sqrt(),
            |i| 1e6 + ((i * 7919) % 1009) as f64 * 1e-6,
            |i| if i % 3 == 0 { -1e-30 } else { 1e-30 * i as f64 },
            |i| if i % 2 == 0 { -0.0 } else { 0.0 },
            // A sensor that rests on its counts, on one of them for most of the time.
            |i| ((i as f64 * 0.01).sin() * 40.0).round() * 0.00153,
            |i| if i % 5 == 0 { ((i * 7919) % 37) as f64 * 0.00153 } else { 0.306 },
        ];
        let p = [0.0, 0.05, 0.5, 0.5, 0.95, 0.99, 1.0];
        for (shape, draw) in shapes.iter().enumerate() {
            for n in [48, 49, 300, 599, 600, 1_000, 5_000] {
                let double: Vec<f64> = (0..n).map(draw).collect();
                let single: Vec<f32> = double.iter().map(|v| *v as f32).collect();
                agrees(&double, p, shape);
                agrees(&single, p, shape);
            }
        }
    }

    fn agrees<T: Real>(values: &[T], p: [f64; 7], shape: usize) {
        let mut sorted = values.to_vec();
        sorted.sort_by(T::order);
        let expected = p.map(|p| quantile_sorted(&sorted, p));
        let found = quantiles_in_place(&mut values.to_vec(), p);
        for i in 0..p.len() {
            let slack = 1e-12 * expected[i].abs();
            let same = (found[i] - expected[i]).abs() <= slack;
            assert!(same, "shape {shape}, {} values, p {}: {}", values.len(), p[i], found[i]);
        }
    }

    /// What is not finite has its place in the order: infinity above all, `NaN` last.
    #[test]
    fn odd_values_have_their_place() {
        let mut values: Vec<f64> = (0..101).map(f64::from).collect();
        values[3] = f64::NAN;
        values[5] = f64::INFINITY;
        assert!((median_in_place(&mut values) - 52.0).abs() < 1e-12);
        assert!((median_in_place(&mut [2.5f32; 99]) - 2.5).abs() < 1e-12);
        values.fill(f64::NAN);
        assert!(median_in_place(&mut values).is_nan());
    }

    #[test]
    fn nothing_has_no_quantile() {
        assert!(median_in_place::<f32>(&mut []).is_nan());
        assert!(quantile_sorted::<f64>(&[], 0.5).is_nan());
    }
}
