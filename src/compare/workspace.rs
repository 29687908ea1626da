//! Poses of one side that are far from all poses of the other.
//!
//! Near is as near as 99 % of a side's poses are to those of its own other episodes. The p-value
//! is found by permuting the episodes: poses of one episode are not independent.

use super::aspect::Aspect;
use super::poses::{Track, arm, counts, squared, tracks};
use super::row::Draft;
use super::scalar::too_few;
use super::side::{Pair, Side, Tasks};
use crate::model::LEADER_POSES;
use crate::num::moments::mean_std;
use crate::num::permutation::permutation_p;
use crate::num::quantile::{quantile_in_place, quantiles_in_place};
use statrs::distribution::{ContinuousCDF, StudentsT};

/// Episodes of a side looked at.
const MOST: usize = 40;
/// Nearer than this is near, however alike the episodes of a side are: one degree.
const NEAR: f64 = std::f64::consts::PI / 180.0;
/// Shares of single episodes vary by at least this, even where a few of them agree by chance.
const MIN_STD: f64 = 0.05;

/// Distance from each pose of each episode to the nearest one of each other episode.
struct Nearest {
    episodes: usize,
    /// Poses of each episode before it, and of all.
    starts: Vec<usize>,
    /// By pose, then by episode.
    distances: Vec<f32>,
}

impl Nearest {
    fn of(tracks: &[Track], dimensions: usize) -> Self {
        let mut starts = vec![0];
        let mut distances = Vec::new();
        for (i, own) in tracks.iter().enumerate() {
            for pose in own.poses.chunks_exact(dimensions) {
                distances.extend(tracks.iter().enumerate().map(|(j, other)| {
                    if i == j || own.task != other.task {
                        return f32::INFINITY;
                    }
                    let all = other.poses.chunks_exact(dimensions).map(|o| squared(pose, o));
                    all.fold(f32::INFINITY, f32::min).sqrt()
                }));
            }
            starts.push(distances.len() / tracks.len());
        }
        Self { episodes: tracks.len(), starts, distances }
    }

    /// Share of each episode's poses that are far from all poses of the other side: episodes not labelled
    /// beyond the labelled ones, and the other way round.
    fn beyond(&self, labels: &[bool]) -> [Vec<f64>; 2] {
        let poses = self.distances.len() / self.episodes;
        let (mut own, mut across) = ([Vec::new(), Vec::new()], vec![0f32; poses]);
        for i in 0..self.episodes {
            let rows = self.distances.chunks_exact(self.episodes).zip(&mut across);
            let count = self.starts[i + 1] - self.starts[i];
            for (row, across) in rows.skip(self.starts[i]).take(count) {
                let mut nearest = [f32::INFINITY; 2];
                for (distance, label) in row.iter().zip(labels) {
                    let side = usize::from(*label);
                    nearest[side] = nearest[side].min(*distance);
                }
                let side = usize::from(labels[i]);
                if nearest[side].is_finite() {
                    own[side].push(nearest[side]);
                }
                *across = nearest[1 - side];
            }
        }
        let near = own.map(|mut own| {
            let usual = quantile_in_place(&mut own, 0.99);
            if usual.is_finite() { usual.max(NEAR) } else { f64::INFINITY }
        });
        let mut shares = [Vec::new(), Vec::new()];
        for i in 0..self.episodes {
            let side = usize::from(labels[i]);
            let own = &across[self.starts[i]..self.starts[i + 1]];
            // A task that the other side does not show here is none of its poses.
            if own.iter().all(|distance| distance.is_finite()) {
                let far = own.iter().filter(|d| f64::from(**d) > near[1 - side]).count();
                shares[side].push(far as f64 / own.len() as f64);
            }
        }
        shares
    }
}

/// The larger of both mean shares.
fn greater(shares: &[Vec<f64>; 2]) -> f64 {
    let mean = |shares: &[f64]| shares.iter().sum::<f64>() / shares.len().max(1) as f64;
    mean(&shares[0]).max(mean(&shares[1]))
}

/// Compares the workspaces.
pub(super) fn workspace(a: &Side, b: &Side, pairs: &[Pair], tasks: &Tasks) -> Draft {
    let limits = Aspect::Workspace.limits(0.0, false);
    let mut draft = Draft::empty(Aspect::Workspace, None, limits);
    let arm = arm(pairs);
    let all: Vec<usize> = (0..LEADER_POSES).collect();
    let tracks = tracks((a, b), &arm, tasks, &all, MOST);
    draft.row.episodes = counts(&tracks);
    let (m, n) = draft.row.episodes;
    if m.min(n) < 3 {
        return draft.noted(too_few(m, n));
    }
    let nearest = Nearest::of(&tracks, arm.len());
    let labels: Vec<bool> = tracks.iter().map(|track| track.second).collect();
    let strata: Vec<usize> = tracks.iter().map(|track| track.task).collect();
    let shares = nearest.beyond(&labels);
    let mut statistic = |labels: &[bool]| greater(&nearest.beyond(labels));
    draft.row.p_value = Some(permutation_p(&labels, &strata, 1, &mut statistic));
    put_shares(&mut draft, &shares, MIN_STD);
    if let Some((name, overlap)) = min_overlap(&tracks, &arm) {
        let percent = 100.0 * overlap;
        draft = draft.noted(format!("the ranges of {name} overlap least: by {percent:.0} %"));
    }
    draft
}

/// Puts the shares of A's episodes beyond B and of B's beyond A in: the larger mean is the change,
/// and both must lie within the equivalence margin to be the same. `floor` is the minimum standard
/// deviation assumed for single shares.
pub(super) fn put_shares(draft: &mut Draft, shares: &[Vec<f64>; 2], floor: f64) {
    let span = |shares: &[f64]| {
        let (mean, std) = mean_std(shares);
        let error = std.max(floor) / (shares.len() as f64).sqrt();
        let reach = t_quantile(shares.len()) * error;
        (mean, error, (mean - reach).max(0.0), (mean + reach).min(1.0))
    };
    let [a, b] = [span(&shares[0]), span(&shares[1])];
    draft.row.values = Some((a.0, b.0));
    draft.row.change = Some(a.0.max(b.0));
    draft.row.interval = Some((a.2.max(b.2), a.3.max(b.3)));
    draft.within = a.3.max(b.3) <= draft.row.limits.warn;
    draft.error = a.1.max(b.1);
}

/// Student's 97.5 % quantile for a mean of so many.
fn t_quantile(n: usize) -> f64 {
    let law = StudentsT::new(0.0, 1.0, n.saturating_sub(1).max(1) as f64);
    law.map_or(f64::INFINITY, |law| law.inverse_cdf(0.975))
}

/// The joint whose 1st to 99th percentiles have the smallest overlap, as a share of what both cover together.
fn min_overlap(tracks: &[Track], arm: &[Pair]) -> Option<(String, f64)> {
    let overlap = |joint: usize| {
        let range = |second: bool| {
            let of = tracks.iter().filter(|track| track.second == second);
            let values = of.flat_map(|t| t.poses.chunks_exact(arm.len()).map(|pose| pose[joint]));
            quantiles_in_place(&mut values.collect::<Vec<f32>>(), [0.01, 0.99])
        };
        let ([low_a, high_a], [low_b, high_b]) = (range(false), range(true));
        let both = high_a.max(high_b) - low_a.min(low_b);
        // A joint that hardly moves on either side has no usable range.
        let lively = both > 5.0 * NEAR;
        lively.then(|| ((high_a.min(high_b) - low_a.max(low_b)) / both).max(0.0))
    };
    let all = arm.iter().enumerate().filter_map(|(at, pair)| Some((pair, overlap(at)?)));
    all.min_by(|x, y| x.1.total_cmp(&y.1)).map(|(pair, overlap)| (pair.name.clone(), overlap))
}
