//! The table that a trainer would compute to normalise each dimension: mean, deviation, ends and
//! quantiles over the dataset, and where such a table would mislead.
//!
//! Mean, deviation and ends are those of all finite frames; the quantiles are those of the sketched
//! poses of all episodes, or of thousands drawn from more, each weighted by the frames it stands for,
//! so they are good to a few thousandths of the range in all but very short datasets.

use std::array::from_fn;

use super::paths::some_of;
use crate::model::{Dimension, LEADER_POSES, Ledger, Moments, Motion};

/// Cells in which poses are counted, from the least value to the largest.
const CELLS: usize = 1 << 16;
/// Most episodes whose poses are counted: a million poses say as much of a quantile as more do.
const MOST: usize = 16_384;

/// Number of dimensions, the follower's joints before the leader's; none where no motion was sketched.
pub fn dimensions(ledger: &Ledger) -> usize {
    motions(ledger).next().map_or(0, |(_, motion)| motion.moments.len())
}

fn motions(ledger: &Ledger) -> impl Iterator<Item = (f64, Motion<'_>)> {
    (0..ledger.rows())
        .filter_map(|row| Some((f64::from(ledger.frames()[row]), ledger.motion(row)?)))
}

/// Standard deviation and ends of one dimension over all frames.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Spread {
    /// Whether it is the leader's.
    pub leader: bool,
    /// The joint's place in the rig.
    pub joint: usize,
    /// Standard deviation.
    pub deviation: f64,
    /// Largest less least value.
    pub range: f64,
}

/// All dimensions that were read, without the quantiles, which cost most of the table.
pub(super) fn spreads(ledger: &Ledger) -> Vec<Spread> {
    let Some((_, first)) = motions(ledger).next() else { return Vec::new() };
    let mut pools: Vec<Pool> = first.moments.iter().map(|_| Pool::default()).collect();
    for (frames, motion) in motions(ledger) {
        pools.iter_mut().zip(motion.moments).for_each(|(pool, own)| pool.add(frames, *own));
    }
    let joints = first.joints;
    let spread = |(at, pool): (usize, Pool)| {
        let (leader, joint) = (at >= joints, at % joints);
        let (deviation, range) = (pool.mean_std()?.1, pool.largest - pool.least);
        Some(Spread { leader, joint, deviation, range })
    };
    pools.into_iter().enumerate().filter_map(spread).collect()
}

/// A row of the table; none for a dimension that was never read.
pub fn dimension(ledger: &Ledger, at: usize) -> Option<Dimension> {
    let joints = motions(ledger).next()?.1.joints;
    let leader = at >= joints;
    let joint = at % joints;
    let mut pool = Pool::default();
    for (frames, motion) in motions(ledger) {
        pool.add(frames, motion.moments[at]);
    }
    let (mean, deviation) = pool.mean_std()?;
    let mut counts = Counts::new(pool.least, pool.largest);
    for row in some_of(ledger.rows(), MOST) {
        let Some(motion) = ledger.motion(row) else { continue };
        let frames = f64::from(ledger.frames()[row]);
        if leader {
            let poses: [f32; LEADER_POSES] = from_fn(|pose| motion.leader(joint, pose));
            counts.add_all(&poses, frames);
        } else {
            counts.add_all(&motion.followers(joint), frames);
        }
    }
    let (least, largest) = (pool.least, pool.largest);
    let [low, high] = [0.01, 0.99].map(|share| counts.quantile(share));
    Some(Dimension { leader, joint, mean, std: deviation, min: least, max: largest, low, high })
}

/// Moments of all episodes together (Chan, Golub and others 1983).
struct Pool {
    weight: f64,
    mean: f64,
    squares: f64,
    least: f64,
    largest: f64,
}

impl Default for Pool {
    fn default() -> Self {
        let far = f64::INFINITY;
        Self { weight: 0.0, mean: 0.0, squares: 0.0, least: far, largest: -far }
    }
}

impl Pool {
    fn add(&mut self, frames: f64, moments: Moments) {
        let (mean, deviation) = (f64::from(moments.mean), f64::from(moments.std));
        if !mean.is_finite() || frames <= 0.0 {
            return;
        }
        let weight = self.weight + frames;
        let from = mean - self.mean;
        self.mean += from * frames / weight;
        self.squares += frames * (deviation * deviation + from * from * self.weight / weight);
        self.weight = weight;
        self.least = self.least.min(f64::from(moments.min));
        self.largest = self.largest.max(f64::from(moments.max));
    }

    fn mean_std(&self) -> Option<(f64, f64)> {
        (self.weight > 0.0).then(|| (self.mean, (self.squares / self.weight).sqrt()))
    }
}

/// Weights in even cells between two ends.
struct Counts {
    least: f64,
    width: f64,
    weights: Vec<f64>,
}

impl Counts {
    fn new(least: f64, largest: f64) -> Self {
        Self { least, width: (largest - least) / CELLS as f64, weights: vec![0.0; CELLS] }
    }

    /// The poses of an episode; the first and the last stand for half as much time.
    fn add_all(&mut self, poses: &[f32], frames: f64) {
        for (at, value) in poses.iter().enumerate() {
            let weight = if at == 0 || at == poses.len() - 1 { 0.5 } else { 1.0 };
            self.add(f64::from(*value), weight * frames);
        }
    }

    fn add(&mut self, value: f64, weight: f64) {
        if value.is_finite() {
            let cell = ((value - self.least) / self.width) as usize;
            self.weights[cell.min(CELLS - 1)] += weight;
        }
    }

    /// The middle of the cell in which the share is reached.
    fn quantile(&self, share: f64) -> f64 {
        let want = share * self.weights.iter().sum::<f64>();
        let mut sum = 0.0;
        let reached = self.weights.iter().position(|weight| {
            sum += weight;
            sum >= want
        });
        self.least + (reached.unwrap_or(0) as f64 + 0.5) * self.width
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cohort::motions::{ledger, sound};
    use crate::demo::{DemoError, Recording};
    use crate::num::moments::mean_std;
    use crate::num::quantile::quantile_in_place;

    fn table(ledger: &Ledger) -> Vec<Dimension> {
        (0..dimensions(ledger)).filter_map(|at| dimension(ledger, at)).collect()
    }

    /// Against all frames at once.
    #[test]
    fn the_table_is_that_of_all_frames() -> Result<(), DemoError> {
        for seed in 0..4 {
            let mut frames: Vec<Vec<f64>> = Vec::new();
            let all = ledger(&sound(seed, 20), |_, r| {
                let both: Vec<Vec<f64>> = r.follower.iter().chain(&r.leader).cloned().collect();
                frames.resize(both.len(), Vec::new());
                frames.iter_mut().zip(both).for_each(|(all, own)| all.extend(own));
                r
            })?;
            let table = table(&all);
            assert_eq!(table.len(), frames.len());
            for (at, (row, frames)) in table.iter().zip(&mut frames).enumerate() {
                let (mean, deviation) = mean_std(frames);
                let n = frames.len() as f64;
                assert!((row.mean - mean).abs() < 1e-5, "{at}");
                assert!((row.std - deviation * ((n - 1.0) / n).sqrt()).abs() < 1e-5, "{at}");
                let range = row.max - row.min;
                for (share, value) in [(0.01, row.low), (0.99, row.high)] {
                    let want = quantile_in_place(frames, share);
                    assert!((value - want).abs() < 0.05 * range, "{at}: {value} for {want}");
                }
                assert_eq!(
                    (row.leader, row.joint),
                    (at >= table.len() / 2, at % (table.len() / 2))
                );
                assert_eq!(row.warning(1.7e-3), None, "{seed} {at} {row:?}");
            }
        }
        Ok(())
    }

    #[test]
    fn a_constant_dimension_and_a_spike_mislead() -> Result<(), DemoError> {
        let change = |id, mut r: Recording| {
            r.leader[1].fill(0.3);
            // The wrist hardly turns, but for one wild reading.
            r.follower[4].iter_mut().for_each(|v| *v *= 0.2);
            if id == 3 {
                r.follower[4][50] = 3.0;
            }
            r
        };
        let table = table(&ledger(&sound(1, 12), change)?);
        let told: Vec<(bool, usize, &str)> = table
            .iter()
            .filter_map(|row| Some((row.leader, row.joint, row.warning(1.7e-3)?)))
            .map(|(leader, joint, text)| (leader, joint, &text[..8]))
            .collect();
        assert_eq!(told, [(false, 4, "its ends"), (true, 1, "constant")]);
        assert!(super::tests::table(&Ledger::default()).is_empty());
        Ok(())
    }
}
