//! How well one signal explains another at the best lag, and with which factor.

use super::wide::wide_fn;

/// How a signal is explained.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Explained {
    /// Share of the variance that is left.
    pub left: f64,
    /// Change of the explained signal with one unit of the other: ratio of their standard
    /// deviations, with the sign of the correlation.
    pub slope: f64,
    /// By how many samples the explaining signal comes later.
    pub lag: f64,
}

/// Samples that are compared at each lag, at most.
const COMPARED: usize = 1000;
/// Fewer pairs say nothing.
const FEWEST: usize = 12;

/// Explains `x` by `y` at the best of the lags `from`, `from + step`, … up to `to`, in samples.
/// Between samples `y` is a line. `None` where either does not change, or nothing can be paired.
pub fn explain(x: &[f32], y: &[f32], (from, to): (f64, f64), step: f64) -> Option<Explained> {
    let lags = ((to - from) / step).round().max(0.0) as usize;
    let all = (0..=lags).filter_map(|n| at(x, y, from + n as f64 * step));
    all.min_by(|a, b| a.left.total_cmp(&b.left))
}

/// The same at one lag.
fn at(x: &[f32], y: &[f32], lag: f64) -> Option<Explained> {
    let (whole, part) = (lag.floor() as isize, lag - lag.floor());
    let count = x.len().min(y.len()) as isize;
    let (first, end) = ((-whole).max(0), (count - 1 - whole).min(count));
    if end - first < FEWEST as isize {
        return None;
    }
    let stride = ((end - first) as usize / COMPARED).max(1);
    let (zero_x, zero_y) = (f64::from(x[first as usize]), f64::from(y[(first + whole) as usize]));
    let n = ((end - first) as usize).div_ceil(stride) as f64;
    let late = &y[(first + whole) as usize..=(end + whole) as usize];
    let x = &x[first as usize..end as usize];
    let [sx, sy, xx, yy, xy] = if stride == 1 {
        sums(x, late, part, zero_x, zero_y)
    } else {
        let some = |values: &[f32], from: usize| -> Vec<f32> {
            values[from..].iter().step_by(stride).copied().collect()
        };
        let (x, y, next) = (some(x, 0), some(late, 0), some(late, 1));
        let mut total = [0.0; 5];
        for ((x, y), next) in x.iter().zip(&y).zip(&next) {
            add(&mut total, products(*x, *y, *next, part, zero_x, zero_y));
        }
        total
    };
    let (vx, vy, cov) = (xx - sx * sx / n, yy - sy * sy / n, xy - sx * sy / n);
    // Rounding alone leaves this much of a large constant.
    if n < FEWEST as f64 || vx <= 1e-12 * xx || vy <= 1e-12 * yy || !(vx > 0.0 && vy > 0.0) {
        return None;
    }
    let left = (1.0 - cov * cov / (vx * vy)).max(0.0);
    Some(Explained { left, slope: (vx / vy).sqrt().copysign(cov), lag })
}

fn add(total: &mut [f64; 5], one: [f64; 5]) {
    for (total, one) in total.iter_mut().zip(one) {
        *total += one;
    }
}

/// x, y, and their squares and product, of one sample.
#[expect(clippy::inline_always, reason = "what is not inlined stays narrow")]
#[inline(always)]
fn products(x: f32, y: f32, next: f32, part: f64, zero_x: f64, zero_y: f64) -> [f64; 5] {
    let (y0, y1) = (f64::from(y) - zero_y, f64::from(next) - zero_y);
    let (a, b) = (f64::from(x) - zero_x, y0 + part * (y1 - y0));
    [a, b, a * a, b * b, a * b]
}

const LANES: usize = 8;

wide_fn! {
    /// Sums of the products of all samples; `y` has one sample more.
    fn sums<'a>(
        x: &'a [f32],
        y: &'a [f32],
        part: f64,
        zero_x: f64,
        zero_y: f64,
    ) -> [f64; 5] {
        let mut lanes = [[0.0f64; LANES]; 5];
        let (blocks, rest) = x.as_chunks::<LANES>();
        for (block, x) in blocks.iter().enumerate() {
            let y = &y[block * LANES..=(block + 1) * LANES];
            for lane in 0..LANES {
                let one = products(x[lane], y[lane], y[lane + 1], part, zero_x, zero_y);
                for (sum, one) in lanes.iter_mut().zip(one) {
                    sum[lane] += one;
                }
            }
        }
        let mut total = lanes.map(|lanes| lanes.into_iter().sum());
        let from = blocks.len() * LANES;
        for (at, x) in rest.iter().enumerate() {
            let (y, next) = (y[from + at], y[from + at + 1]);
            for (total, one) in total.iter_mut().zip(products(*x, y, next, part, zero_x, zero_y)) {
                *total += one;
            }
        }
        total
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn wave(t: f64) -> f32 {
        ((0.31 * t).sin() + 0.5 * (0.13 * t + 1.0).sin()) as f32
    }

    #[test]
    fn a_late_and_scaled_copy_is_explained_with_its_factor() {
        let y: Vec<f32> = (0..400).map(|t| wave(f64::from(t) - 2.5)).collect();
        let x: Vec<f32> = (0..400).map(|t| 3.0 - 4.0 * wave(f64::from(t))).collect();
        let found = explain(&x, &y, (-5.0, 10.0), 0.5);
        let right = |e: Explained| e.left < 1e-3 && e.lag == 2.5 && (e.slope + 4.0).abs() < 0.05;
        assert!(found.is_some_and(right), "{found:?}");
    }

    #[test]
    fn what_does_not_change_explains_nothing() {
        let y: Vec<f32> = (0..400).map(|t| wave(f64::from(t))).collect();
        assert_eq!(explain(&[7.0; 400], &y, (0.0, 5.0), 1.0), None);
        assert_eq!(explain(&y, &[7.0; 400], (0.0, 5.0), 1.0), None);
        assert_eq!(explain(&y[..8], &y[..8], (0.0, 1.0), 1.0), None);
    }
}
