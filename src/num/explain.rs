//! How well one signal explains another at the best lag, and with which factor.

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
    let (mut n, mut sx, mut sy, mut xx, mut yy, mut xy) = (0.0, 0.0, 0.0, 0.0, 0.0, 0.0);
    for t in (first..end).step_by(stride) {
        let late = (t + whole) as usize;
        let (y0, y1) = (f64::from(y[late]) - zero_y, f64::from(y[late + 1]) - zero_y);
        let (a, b) = (f64::from(x[t as usize]) - zero_x, y0 + part * (y1 - y0));
        n += 1.0;
        sx += a;
        sy += b;
        xx += a * a;
        yy += b * b;
        xy += a * b;
    }
    let (vx, vy, cov) = (xx - sx * sx / n, yy - sy * sy / n, xy - sx * sy / n);
    // Rounding alone leaves this much of a large constant.
    if n < FEWEST as f64 || vx <= 1e-12 * xx || vy <= 1e-12 * yy || !(vx > 0.0 && vy > 0.0) {
        return None;
    }
    let left = (1.0 - cov * cov / (vx * vy)).max(0.0);
    Some(Explained { left, slope: (vx / vy).sqrt().copysign(cov), lag })
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
