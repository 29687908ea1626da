//! Mean and variance that survive a large offset.

/// Mean and sample standard deviation (n − 1), in two passes about a provisional mean.
///
/// The second pass also sums the residuals themselves, which takes back the rounding of the first
/// mean (Chan, Golub and others 1983, The American Statistician 37(3), eq. 1.7). NIST's `NumAcc4`
/// (mean 10000000.2, sd 0.1) passes; the sum-of-squares formula fails it.
/// `NaN` for fewer values than one (mean) or two (standard deviation).
pub fn mean_std(values: &[f64]) -> (f64, f64) {
    let n = values.len() as f64;
    let mean = values.iter().sum::<f64>() / n;
    let (mut sum, mut squares) = (0.0, 0.0);
    for value in values {
        let residual = value - mean;
        sum += residual;
        squares += residual * residual;
    }
    let variance = (squares - sum * sum / n) / (n - 1.0);
    (mean + sum / n, variance.max(0.0).sqrt())
}

/// Correlation of the series with itself one step later, about the common mean.
pub fn lag1_autocorrelation(values: &[f64]) -> f64 {
    let (mean, _) = mean_std(values);
    let products: f64 = values.windows(2).map(|w| (w[0] - mean) * (w[1] - mean)).sum();
    let squares: f64 = values.iter().map(|v| (v - mean).powi(2)).sum();
    products / squares
}
