//! Many correlated features reduced to a few components that are not.

use nalgebra::{DMatrix, SymmetricEigen};

use super::feature::drawn_in;
use crate::num::robust::{mad_sigma, median};

/// Scores are cut to this for finding directions, so that outliers do not choose them.
const WINSORISED: f64 = 1.5;
/// Components beyond this many sigmas count only by their logarithm.
const DRAWN_IN: f64 = 4.0;
/// A direction with less than this share of the mean variance only repeats the others.
const REPEATED: f64 = 0.01;
/// Episodes needed to a direction that is taken for common.
const PER_DIRECTION: usize = 6;

/// Directions in the space of features, and the components made of them.
///
/// Principal components alone would lose an episode that is odd in one or two of forty features,
/// for no strong direction points there. So where there are more directions than components, the
/// strongest stand alone, the other common ones (of more than mean variance) share a component,
/// and what none of them holds makes the last (as in Hubert, Rousseeuw & Vanden Branden 2005,
/// Technometrics 47(1), 64–79). The cube root of a sum of squares is near normal (Wilson & Hilferty
/// 1931).
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Space {
    directions: Vec<Direction>,
    /// How many directions stand alone.
    alone: usize,
    /// Whether the others share a component, and whether there is a remainder.
    reduced: bool,
    /// Centre and scale of each component.
    scales: Vec<(f64, f64)>,
}

#[derive(Debug, Clone, PartialEq)]
struct Direction {
    along: Vec<f64>,
    variance: f64,
}

impl Space {
    /// Finds at most `most` components (two or more) from the scores of the fit, row by row.
    pub fn learn(scores: &[f64], features: usize, most: usize) -> Self {
        let rows = scores.len() / features.max(1);
        let mut directions = directions(scores, rows, features);
        let reduced = directions.len() > most;
        let mut alone = directions.len();
        if reduced {
            let mean = directions.iter().map(|d| d.variance).sum::<f64>() / features as f64;
            let common = directions.partition_point(|d| d.variance > 2.0 * mean);
            directions.truncate(common.min(rows / PER_DIRECTION).max(most - 1));
            // One component is the remainder; one is shared if there is anything to share.
            alone = if directions.len() < most { most - 1 } else { most - 2 };
        }
        let mut space = Self { directions, alone, reduced, scales: Vec::new() };
        space.scales = space.learn_scales(scores, features);
        space
    }

    /// Centre and scale of each component over the fit.
    fn learn_scales(&self, scores: &[f64], features: usize) -> Vec<(f64, f64)> {
        let mut projected = Vec::new();
        for scores in scores.chunks_exact(features) {
            self.project(scores, &mut projected);
        }
        let components = self.components();
        let of = |i: usize| {
            let values: Vec<f64> = projected.iter().skip(i).step_by(components).copied().collect();
            (median(&values), mad_sigma(&values).max(f64::MIN_POSITIVE))
        };
        (0..components).map(of).collect()
    }

    /// Number of components.
    pub fn components(&self) -> usize {
        let shared = usize::from(self.alone < self.directions.len());
        self.alone + shared + usize::from(self.reduced)
    }

    /// Appends the components of one episode's scores.
    pub fn project(&self, scores: &[f64], into: &mut Vec<f64>) {
        let start = into.len();
        let mut left: f64 = scores.iter().map(|s| s * s).sum();
        let mut shared = 0.0;
        for (i, direction) in self.directions.iter().enumerate() {
            let along: f64 = direction.along.iter().zip(scores).map(|(d, s)| d * s).sum();
            left -= along * along;
            if i < self.alone {
                into.push(along);
            } else {
                shared += along * along / direction.variance;
            }
        }
        if self.alone < self.directions.len() {
            into.push(shared.cbrt());
        }
        if self.reduced {
            into.push(left.max(0.0).cbrt());
        }
        for (value, (centre, scale)) in into[start..].iter_mut().zip(&self.scales) {
            *value = drawn_in((*value - centre) / scale, DRAWN_IN);
        }
    }
}

/// Principal directions of the winsorised scores, strongest first, without mere repeats.
fn directions(scores: &[f64], rows: usize, features: usize) -> Vec<Direction> {
    let cut = scores.iter().map(|s| s.clamp(-WINSORISED, WINSORISED));
    let cut = DMatrix::from_row_iterator(rows, features, cut);
    let eigen = SymmetricEigen::new(cut.tr_mul(&cut) / rows.max(1) as f64);
    let least = REPEATED * eigen.eigenvalues.mean();
    let direction = |(column, &variance): (usize, &f64)| Direction {
        along: eigen.eigenvectors.column(column).iter().copied().collect(),
        variance,
    };
    let mut all: Vec<Direction> = eigen
        .eigenvalues
        .iter()
        .enumerate()
        .map(direction)
        .filter(|d| d.variance > least)
        .collect();
    all.sort_by(|a, b| b.variance.total_cmp(&a.variance));
    all
}
