//! Sag: how far a joint droops under its arm's weight, by the curve that the pose draws.
//!
//! A link that turns about a horizontal axis is pulled by the cosine of its angle to the
//! horizontal, which the joint's own angle differs from by a constant that nobody knows. So the
//! error goes as `offset - droop * cos(pose + constant)`: about the middle of the poses a cosine
//! and a sine. A wrong range makes a straight line instead, a wrong neutral point none. The cosine
//! is what tells: its curve is measured together with offset, backlash, lag and drift, and its
//! standard deviation with what is left, which hangs together from point to point.

use nalgebra::{SMatrix, SVector};

use super::thinned::Trace;
use crate::num::quantile::median_in_place;
use crate::num::robust::MAD_TO_SIGMA;

const DEGREE: f64 = std::f64::consts::PI / 180.0;
/// Unknowns: constant, side of the backlash, speed, sine, acceleration, speed as time goes, cosine.
const TERMS: usize = 7;
const SINE: usize = 3;
const COSINE: usize = 6;
/// A curve below this explains no offset that matters, and one above it is no weight.
const LEAST: f64 = 1.5 * DEGREE;
const MOST: f64 = 10.0 * DEGREE;
/// Over the poses the curve bends the error by more than this: two counts of 12 bits, and more than
/// other joints that move along bend it.
const BENT: f64 = 0.2 * DEGREE;
/// So many of its standard deviations make it sure.
const SURE: f64 = 5.0;
/// What is left must be small, next to it too: where fast motion leaves much, a curve is easily
/// drawn through that.
const LEFT: f64 = 0.5 * DEGREE;
const LEFT_SHARE: f64 = 0.15;
/// An offset together with sag is believed where next to nothing is left: other joints bend the
/// curve as well ...
const EXACT_SHARE: f64 = 0.03;
const EXACT_STD: f64 = 0.25 * DEGREE;
/// ... else it is sag alone that explains the error, but for this share of it, or it is not sag.
const UNEXPLAINED: f64 = 0.25;
/// A line steeper than this many times the curve is a wrong range, however the link hangs.
const STEEPEST: f64 = 2.0;
/// Points weigh by their speed up to 3 degrees a second.
const FULL_SPEED: f64 = 0.05;
/// Of a residual, what hangs together from point to point at most.
const MOST_CORRELATED: f64 = 0.95;

/// How a joint sags.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sag {
    /// The pose in the middle.
    middle: f64,
    /// Size of the cosine about the middle: minus what the droop adds to the error there.
    cosine: f64,
    /// Size of the sine about the middle.
    sine: f64,
    /// Whether the curve explains the error so well that what is left of an offset without it is
    /// known.
    exact: bool,
}

impl Sag {
    /// What the droop adds to the error at a pose.
    pub fn at(&self, pose: f64) -> f64 {
        let turned = pose - self.middle;
        self.cosine * turned.cos() + self.sine * turned.sin()
    }

    /// How far that is from what it adds in the middle of the poses.
    pub fn beyond_middle(&self, pose: f64) -> f64 {
        self.at(pose) - self.cosine
    }

    /// The offset that the sag leaves of an error in the middle of the poses; where it is not
    /// exact, as much of the error as may be offset, and no more than the error.
    pub fn leaves(&self, middle: f64) -> f64 {
        let left = middle - self.cosine;
        if self.exact || left.abs() < middle.abs() { left } else { middle }
    }

    /// Whether an offset is known without it.
    pub fn is_exact(&self) -> bool {
        self.exact
    }

    /// How far the joint droops at most between two poses.
    pub fn most(&self, low: f64, high: f64) -> f64 {
        // Where the cosine and the sine together are largest or smallest.
        let vertex = self.middle + (self.sine / self.cosine).atan();
        let all = [low, high, vertex.clamp(low, high)].map(|pose| self.at(pose).abs());
        all.into_iter().fold(0.0, f64::max)
    }

    /// The sag of a trace whose poses lie between these, with the error in their middle, if it is
    /// sure; the sides of the backlash are known.
    pub(super) fn of(trace: &Trace, low: f64, high: f64, error: f64) -> Option<Self> {
        let middle = 0.5 * (low + high);
        let rows = rows(trace, middle);
        let (mut keep, mut robust) = (f64::INFINITY, f64::INFINITY);
        let mut fitted = None;
        for _ in 0..3 {
            let (terms, inverse) =
                solve(&rows, fitted.map_or([0.0; TERMS], |f: Fitted| f.0), keep)?;
            let mut left: Vec<f32> = rows.iter().map(|row| row.left(&terms).abs() as f32).collect();
            // Beyond five robust standard deviations it is something else.
            robust = MAD_TO_SIGMA * median_in_place(&mut left);
            keep = (5.0 * robust).max(0.004);
            fitted = Some((terms, inverse));
        }
        let (terms, inverse) = fitted?;
        let std = (variance(&rows, &terms, keep)? * inverse).sqrt();
        let (cosine, sine) = (terms[COSINE], terms[SINE]);
        let size = cosine.abs();
        let sure =
            size > LEAST.max(SURE * std) && size < MOST && robust < LEFT.min(LEFT_SHARE * size);
        let bent = size * (1.0 - (0.5 * (high - low)).cos());
        let sag = sine.abs() <= STEEPEST * size && bent > BENT;
        let exact = robust < EXACT_SHARE * size && std < EXACT_STD;
        let explains = (error - cosine).abs() < UNEXPLAINED * error.abs();
        (sure && sag && (exact || explains)).then_some(Self { middle, cosine, sine, exact })
    }
}

/// A solution, and what the variance of what is left is multiplied by for that of the cosine's
/// size.
type Fitted = ([f64; TERMS], f64);

/// A point of the trace.
struct Row {
    error: f64,
    weight: f64,
    terms: [f64; TERMS],
}

impl Row {
    fn left(&self, terms: &[f64; TERMS]) -> f64 {
        self.error - self.terms.iter().zip(terms).map(|(x, term)| x * term).sum::<f64>()
    }
}

fn rows(trace: &Trace, middle: f64) -> Vec<Row> {
    let ends = trace.at.first().zip(trace.at.last());
    let (first, last) = ends.map_or((0.0, 1.0), |(a, b)| (f64::from(*a), f64::from(*b)));
    let (noon, scale) = (0.5 * (first + last), 2.0 / (last - first).max(1.0));
    let row = |at: usize| {
        let (speed, turned) = (f64::from(trace.speed[at]), f64::from(trace.leader[at]) - middle);
        let way = (f64::from(trace.at[at]) - noon) * scale;
        let side = f64::from(trace.side[at]);
        let bend = f64::from(trace.bend[at]);
        // The cosine less its size in the middle, where the constant is.
        let terms = [1.0, side, speed, turned.sin(), bend, way * speed, turned.cos() - 1.0];
        let weight = (speed.abs() / FULL_SPEED).min(1.0) + 0.02;
        Row { error: f64::from(trace.error[at]), weight, terms }
    };
    (0..trace.at.len()).map(row).collect()
}

/// Least squares over the rows that the last solution left within `keep`.
fn solve(rows: &[Row], last: [f64; TERMS], keep: f64) -> Option<Fitted> {
    let mut square = SMatrix::<f64, TERMS, TERMS>::zeros();
    let mut right = SVector::<f64, TERMS>::zeros();
    for row in rows.iter().filter(|row| row.left(&last).abs() <= keep) {
        let x = SVector::<f64, TERMS>::from(row.terms);
        square += x * x.transpose() * row.weight;
        right += x * (row.weight * row.error);
    }
    // As in the fit without a cosine: what the points say next to nothing of stays next to zero.
    let n = rows.len() as f64;
    let ridge = [0.0, 1e-5, 1e-6, 1e-6, 1e-2, 1e-6, 1e-9].map(|ridge| ridge * n);
    square += SMatrix::<f64, TERMS, TERMS>::from_diagonal(&SVector::from(ridge));
    let cholesky = square.cholesky()?;
    let inverse = cholesky.inverse()[(COSINE, COSINE)];
    Some((cholesky.solve(&right).into(), inverse))
}

/// Variance of what is left, as large as it counts where neighbours say nearly the same.
fn variance(rows: &[Row], terms: &[f64; TERMS], keep: f64) -> Option<f64> {
    let weighted = |row: &Row| {
        let left = row.left(terms);
        if left.abs() <= keep { row.weight.sqrt() * left } else { 0.0 }
    };
    let left: Vec<f64> = rows.iter().map(weighted).collect();
    let square: f64 = left.iter().map(|v| v * v).sum();
    let both: f64 = left.iter().zip(&left[1..]).map(|(a, b)| a * b).sum();
    let together = if square > 0.0 { (both / square).clamp(0.0, MOST_CORRELATED) } else { 0.0 };
    let free = rows.len().checked_sub(TERMS).filter(|free| *free > 0)?;
    Some(square / free as f64 * (1.0 + together) / (1.0 - together))
}
