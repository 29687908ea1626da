//! How well one signal explains another at the best lag, and with which factor.

use std::ops::Range;

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

/// Fewer pairs say nothing.
const FEWEST: usize = 12;

/// Explains `x` by `y` at the best of the lags `from`, `from + step`, … up to `to`, in samples.
/// Between samples `y` is a line. `None` where either does not change, or nothing can be paired.
///
/// Of a lag only the products of `x` and `y` are worked out again, and between two whole lags not even
/// those: all other sums are differences of running ones.
pub fn explain(x: &[f32], y: &[f32], (from, to): (f64, f64), step: f64) -> Option<Explained> {
    let lags = ((to - from) / step).round().max(0.0) as usize;
    let count = x.len().min(y.len());
    if count < FEWEST {
        return None;
    }
    let mut both = Both::of(&x[..count], &y[..count]);
    let all = (0..=lags).filter_map(|n| both.at(from + n as f64 * step));
    all.min_by(|a, b| a.left.total_cmp(&b.left))
}

/// Two signals of one length, and sums over them.
struct Both {
    x: Running,
    y: Running,
    /// Sums of each value of `y` times the next one.
    next: Vec<f64>,
    /// The last whole lag, and the sums of the products at it and at the one after it.
    products: Option<(isize, [f64; 2])>,
}

/// A signal less its first value, with running sums of it and of its squares.
struct Running {
    values: Vec<f64>,
    sums: Vec<f64>,
    squares: Vec<f64>,
}

impl Running {
    fn of(values: &[f32]) -> Self {
        let zero = f64::from(values[0]);
        let values: Vec<f64> = values.iter().map(|value| f64::from(*value) - zero).collect();
        let sums = running(values.iter().copied());
        let squares = running(values.iter().map(|value| value * value));
        Self { values, sums, squares }
    }

    /// Sum, and sum of the squares.
    fn over(&self, samples: &Range<usize>) -> (f64, f64) {
        (over(&self.sums, samples), over(&self.squares, samples))
    }
}

/// Zero, the first value, the first two, …
fn running(values: impl Iterator<Item = f64>) -> Vec<f64> {
    let mut sum = 0.0;
    let sums = values.map(|value| {
        sum += value;
        sum
    });
    std::iter::once(0.0).chain(sums).collect()
}

fn over(sums: &[f64], samples: &Range<usize>) -> f64 {
    sums[samples.end] - sums[samples.start]
}

impl Both {
    fn of(x: &[f32], y: &[f32]) -> Self {
        let (x, y) = (Running::of(x), Running::of(y));
        let next = running(y.values.windows(2).map(|pair| pair[0] * pair[1]));
        Self { x, y, next, products: None }
    }

    /// How `x` is explained at one lag.
    fn at(&mut self, lag: f64) -> Option<Explained> {
        let (whole, part) = (lag.floor() as isize, lag - lag.floor());
        let count = self.x.values.len() as isize;
        let (first, end) = ((-whole).max(0), (count - 1 - whole).min(count));
        if end - first < FEWEST as isize {
            return None;
        }
        let moved = |by: isize| (first + by) as usize..(end + by) as usize;
        let (here, late, later) = (moved(0), moved(whole), moved(whole + 1));
        let n = here.len() as f64;
        let (sx, xx) = self.x.over(&here);
        let ((sy, yy), (sz, zz)) = (self.y.over(&late), self.y.over(&later));
        let yz = over(&self.next, &late);
        let [xy, xz] = self.products(whole, &here, &late);
        let (near, far) = (1.0 - part, part);
        let (sy, xy) = (near * sy + far * sz, near * xy + far * xz);
        let yy = near * near * yy + 2.0 * near * far * yz + far * far * zz;
        let (vx, vy, cov) = (xx - sx * sx / n, yy - sy * sy / n, xy - sx * sy / n);
        // Rounding alone leaves this much of a large constant.
        if vx <= 1e-12 * xx || vy <= 1e-12 * yy || !(vx > 0.0 && vy > 0.0) {
            return None;
        }
        let left = (1.0 - cov * cov / (vx * vy)).max(0.0);
        Some(Explained { left, slope: (vx / vy).sqrt().copysign(cov), lag })
    }

    /// Sums of `x` times `y` and times the `y` after it.
    fn products(&mut self, whole: isize, here: &Range<usize>, late: &Range<usize>) -> [f64; 2] {
        match self.products {
            Some((known, products)) if known == whole => products,
            _ => {
                let y = &self.y.values[late.start..=late.end];
                let products = products(&self.x.values[here.clone()], y);
                self.products = Some((whole, products));
                products
            }
        }
    }
}

const LANES: usize = 8;

wide_fn! {
    /// Sums of the products with the samples of `y`, which has one more, and with those after them.
    fn products<'a>(x: &'a [f64], y: &'a [f64]) -> [f64; 2] {
        let mut lanes = [[0.0f64; LANES]; 2];
        let (blocks, rest) = x.as_chunks::<LANES>();
        for (block, x) in blocks.iter().enumerate() {
            let y = &y[block * LANES..=(block + 1) * LANES];
            for lane in 0..LANES {
                lanes[0][lane] += x[lane] * y[lane];
                lanes[1][lane] += x[lane] * y[lane + 1];
            }
        }
        let mut total = lanes.map(|lanes| lanes.into_iter().sum());
        let from = blocks.len() * LANES;
        for (at, x) in rest.iter().enumerate() {
            total[0] += x * y[from + at];
            total[1] += x * y[from + at + 1];
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

    /// Each lag by the definition: all pairs of samples, and nothing kept from the lag before.
    fn plainly(x: &[f32], y: &[f32], lag: f64) -> Explained {
        let line = |at: f64| {
            let part = at - at.floor();
            let value = |at: usize| f64::from(y.get(at).copied().unwrap_or(0.0));
            (1.0 - part) * value(at as usize) + part * value(at as usize + 1)
        };
        let inside = |at: f64| at >= 0.0 && at < (y.len() - 1) as f64;
        let rows = (0..x.len()).filter(|row| inside(*row as f64 + lag));
        let pairs: Vec<(f64, f64)> =
            rows.map(|row| (f64::from(x[row]), line(row as f64 + lag))).collect();
        let n = pairs.len() as f64;
        let mean = |of: fn(&(f64, f64)) -> f64| pairs.iter().map(of).sum::<f64>() / n;
        let (mx, my) = (mean(|pair| pair.0), mean(|pair| pair.1));
        let sum = |of: &dyn Fn(f64, f64) -> f64| -> f64 {
            pairs.iter().map(|(x, y)| of(x - mx, y - my)).sum()
        };
        let (vx, vy, cov) = (sum(&|x, _| x * x), sum(&|_, y| y * y), sum(&|x, y| x * y));
        let left = 1.0 - cov * cov / (vx * vy);
        Explained { left, slope: (vx / vy).sqrt().copysign(cov), lag }
    }

    #[test]
    fn every_lag_is_as_the_definition_says() {
        for (rows, far) in [(40, 0.0), (333, 2e3), (1700, -7.0)] {
            let noise = |t: i32| f32::from((t * 7919 % 1009) as i16) / 1009.0;
            let x: Vec<f32> = (0..rows).map(|t| far as f32 + wave(f64::from(t))).collect();
            let y: Vec<f32> = (0..rows + 3).map(|t| wave(f64::from(t) - 3.2) + noise(t)).collect();
            let y_same = &y[..x.len()];
            let mut both = Both::of(&x, y_same);
            for lag in (-9..=22).map(|half| 0.5 * f64::from(half)) {
                let (found, wanted) = (both.at(lag), plainly(&x, y_same, lag));
                let near = |e: Explained| {
                    (e.left - wanted.left).abs() < 1e-6 && (e.slope - wanted.slope).abs() < 1e-5
                };
                assert!(found.is_some_and(near), "{rows} rows, {lag}: {found:?}, {wanted:?}");
            }
        }
    }

    #[test]
    fn what_does_not_change_explains_nothing() {
        let y: Vec<f32> = (0..400).map(|t| wave(f64::from(t))).collect();
        assert_eq!(explain(&[7.0; 400], &y, (0.0, 5.0), 1.0), None);
        assert_eq!(explain(&y, &[7.0; 400], (0.0, 5.0), 1.0), None);
        assert_eq!(explain(&y[..8], &y[..8], (0.0, 1.0), 1.0), None);
    }
}
