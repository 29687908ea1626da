//! How one measurement goes over the order of the episodes.

use statrs::distribution::{ContinuousCDF, Normal};

use super::power;
use crate::num::change_point::{change_p_value, discounted, two_levels};
use crate::num::moments::lag1_autocorrelation;
use crate::num::robust::median;
use crate::num::theil_sen::{self, trend_p_value};

/// Fewest episodes that have a course.
pub(super) const ENOUGH: usize = 12;
/// Fewest on each side of a change.
const SIDE: usize = 4;
/// Most points: pairs grow with the square.
const MOST: usize = 200;
/// Neighbours never count as more alike than this.
const ALIKE: f64 = 0.9;
/// Sigmas of the interval that must not hold zero: 95 %.
const SIGMAS: f64 = 1.96;

/// Where a measurement went.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Course {
    /// How far, with its sign.
    pub drift: f64,
    /// Index of the first value of the second level; none for a steady trend.
    pub at: Option<usize>,
    /// Median of all values.
    pub middle: f64,
    /// How much a value resembles the next one, what went taken out.
    pub likeness: f64,
    /// Standard deviation of what its course leaves, at most.
    pub scatter: f64,
    /// Episodes to a point.
    block: usize,
    points: Vec<f64>,
}

impl Course {
    /// `None` for too few values.
    pub fn of(values: &[f64]) -> Option<Self> {
        if values.len() < ENOUGH {
            return None;
        }
        let block = values.len().div_ceil(MOST);
        let points: Vec<f64> = values.chunks(block).map(median).collect();
        let middle = median(values);
        let (slope, start) = theil_sen::line(&order(&points), &points)?;
        let levels = two_levels(&points, SIDE)?;
        let base = median(&points[..levels.at]);
        let left_by = |of: &dyn Fn(usize) -> f64| -> Vec<f64> {
            points.iter().enumerate().map(|(i, value)| value - of(i)).collect()
        };
        let from_line = left_by(&|i| start + slope * i as f64);
        let from_levels = left_by(&|i| base + if i < levels.at { 0.0 } else { levels.step });
        let sum = |left: &[f64]| left.iter().map(|v| v.abs()).sum::<f64>();
        let (drift, at, left) = if sum(&from_levels) < sum(&from_line) {
            // The block's first episode; with one episode to a block, the episode itself.
            (levels.step, Some(levels.at * block), from_levels)
        } else {
            (slope * (points.len() - 1) as f64, None, from_line)
        };
        let (likeness, scatter) = (likeness(&left), power::scatter(&left));
        Some(Self { drift, at, middle, likeness, scatter, block, points })
    }

    /// By how much less each value tells than an independent one would.
    fn factor(&self, usual: f64) -> f64 {
        // One series alone tells its likeness badly: only what is beyond two of its errors counts.
        let own = self.likeness - 2.0 / (self.points.len() as f64).sqrt();
        let alike = usual.max(own).clamp(0.0, ALIKE);
        (1.0 + alike) / (1.0 - alike)
    }

    /// Episodes from which on a steady drift of this size is proven in four sessions of five, where
    /// `level` is required of its p-value, and those of its kind resemble their neighbours by `usual` and
    /// scatter by `scatter`.
    pub fn needs(&self, size: f64, level: f64, usual: f64, scatter: f64) -> usize {
        let points = power::points(scatter.max(self.scatter) / size, level) * self.factor(usual);
        ENOUGH.max((points * self.block as f64).ceil() as usize)
    }

    /// Probability that values without a course show as clear a one, where those of its kind usually
    /// resemble their neighbours by `usual`.
    pub fn chance(&self, usual: f64) -> f64 {
        let factor = self.factor(usual);
        if self.at.is_none() && holds_zero(&self.points, factor) {
            return 1.0;
        }
        // Both were looked for.
        let chance = trend_p_value(&self.points).min(change_p_value(&self.points, SIDE));
        (2.0 * discounted(chance, factor)).min(1.0)
    }
}

fn order(points: &[f64]) -> Vec<f64> {
    (0..points.len()).map(|i| i as f64).collect()
}

/// Whether the trend's interval, as wide as the values' likeness makes it, holds zero.
fn holds_zero(points: &[f64], factor: f64) -> bool {
    let confidence = 2.0 * Normal::standard().cdf(SIGMAS * factor.sqrt()) - 1.0;
    theil_sen::holds_zero(&order(points), points, confidence).unwrap_or(true)
}

/// Correlation of what a line or two levels leave with the next one. It reads too little by
/// (2 + 4 r) / n (Kendall 1954, Biometrika 41, 403-404).
fn likeness(left: &[f64]) -> f64 {
    let n = left.len() as f64;
    let seen = lag1_autocorrelation(&drawn_in(left));
    if seen.is_finite() { (n * seen + 2.0) / (n - 4.0) } else { 0.0 }
}

/// One wild value hides how the others resemble each other: no farther than three median
/// absolute deviations (two sigmas).
fn drawn_in(left: &[f64]) -> Vec<f64> {
    let sizes: Vec<f64> = left.iter().map(|v| v.abs()).collect();
    let far = 3.0 * median(&sizes);
    left.iter().map(|v| v.clamp(-far, far)).collect()
}
