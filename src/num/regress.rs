//! Straight lines: least squares, and Deming's when both variables carry error.

use super::moments::mean_std;

/// A line `y = intercept + slope · x`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Line {
    /// Value at `x = 0`.
    pub intercept: f64,
    /// Change of `y` with one unit of `x`.
    pub slope: f64,
}

/// An ordinary least squares line with its usual statistics.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LeastSquares {
    /// The line.
    pub line: Line,
    /// Standard error of the intercept.
    pub intercept_error: f64,
    /// Standard error of the slope.
    pub slope_error: f64,
    /// Residual standard deviation, n − 2 degrees of freedom.
    pub residual_std: f64,
    /// Share of the variance explained.
    pub r_squared: f64,
    /// Sum of squares of the regression.
    pub regression_squares: f64,
    /// Sum of squares of the residuals.
    pub residual_squares: f64,
    /// F statistic with (1, n − 2) degrees of freedom.
    pub f: f64,
}

/// Sums about the means.
struct Centred {
    n: f64,
    mean_x: f64,
    mean_y: f64,
    xx: f64,
    yy: f64,
    xy: f64,
}

impl Centred {
    fn of(x: &[f64], y: &[f64]) -> Self {
        let n = x.len().min(y.len());
        let (mean_x, _) = mean_std(&x[..n]);
        let (mean_y, _) = mean_std(&y[..n]);
        let mut sums = Self { n: n as f64, mean_x, mean_y, xx: 0.0, yy: 0.0, xy: 0.0 };
        for (x, y) in x.iter().zip(y) {
            let (dx, dy) = (x - mean_x, y - mean_y);
            sums.xx += dx * dx;
            sums.yy += dy * dy;
            sums.xy += dx * dy;
        }
        sums
    }

    fn line(&self, slope: f64) -> Line {
        Line { intercept: self.mean_y - slope * self.mean_x, slope }
    }
}

/// Least squares of `y` on `x`. `None` below three points or where `x` does not vary.
pub fn least_squares(x: &[f64], y: &[f64]) -> Option<LeastSquares> {
    let sums = Centred::of(x, y);
    if sums.n < 3.0 || sums.xx <= 0.0 {
        return None;
    }
    let line = sums.line(sums.xy / sums.xx);
    let residual = |(x, y): (&f64, &f64)| y - sums.mean_y - line.slope * (x - sums.mean_x);
    let residual_squares: f64 = x.iter().zip(y).map(|pair| residual(pair).powi(2)).sum();
    let regression_squares = line.slope * sums.xy;
    let variance = residual_squares / (sums.n - 2.0);
    Some(LeastSquares {
        line,
        intercept_error: (variance * (1.0 / sums.n + sums.mean_x.powi(2) / sums.xx)).sqrt(),
        slope_error: (variance / sums.xx).sqrt(),
        residual_std: variance.sqrt(),
        r_squared: regression_squares / (regression_squares + residual_squares),
        regression_squares,
        residual_squares,
        f: regression_squares / variance,
    })
}

/// Deming's line: `x` and `y` both carry error, and `delta` is the variance of `y`'s error over
/// that of `x`'s (1 gives orthogonal regression). `None` below two points or where the two do not
/// vary together.
///
/// Source: Linnet 1990, Statistics in Medicine 9, 1463–1473.
pub fn deming(x: &[f64], y: &[f64], delta: f64) -> Option<Line> {
    let sums = Centred::of(x, y);
    if sums.n < 2.0 || sums.xy == 0.0 {
        return None;
    }
    let gap = sums.yy - delta * sums.xx;
    Some(sums.line((gap + (gap * gap + 4.0 * delta * sums.xy * sums.xy).sqrt()) / (2.0 * sums.xy)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_exact_line_comes_back() {
        let x = [1.0, 2.0, 4.0, 7.0];
        let y = x.map(|x| 3.0 - 2.0 * x);
        let fit = least_squares(&x, &y).map(|f| f.line);
        assert_eq!(fit, Some(Line { intercept: 3.0, slope: -2.0 }));
        assert_eq!(deming(&x, &y, 1.0), Some(Line { intercept: 3.0, slope: -2.0 }));
        assert_eq!(least_squares(&[1.0; 4], &y), None);
    }
}
