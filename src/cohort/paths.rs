//! The paths of episodes in joint space, freed of tempo, and how far they are from each other.

use rand::SeedableRng;
use rand::seq::index::sample;
use rand_chacha::ChaCha8Rng;
use statrs::distribution::{ContinuousCDF, Normal};

use crate::model::{Ledger, Motion, POSES};
use crate::num::path::evenly_along;

/// Points to a path.
pub(super) const PLACES: usize = 17;
/// Seed of random samples of episodes.
const SEED: u64 = 16;

/// Robust sigmas beyond which a value is suspect: Iglewicz & Hoaglin 1993.
const SUSPECT: f64 = 3.5;
/// Chance that any of a healthy session's values is beyond the cut-off, were they normal.
const FALSE_ALARM: f64 = 0.05;

/// Sigmas beyond which one of so many values is odd.
pub(super) fn cut_off(values: usize) -> f64 {
    let of_many = 1.0 - FALSE_ALARM / values.max(1) as f64;
    Normal::standard().inverse_cdf(of_many).max(SUSPECT)
}

/// One path to a row: [`PLACES`] points evenly along it, point by point, a coordinate to a joint.
#[derive(Debug, Default)]
pub(super) struct Paths {
    /// Rows of the ledger that have a path.
    pub rows: Vec<usize>,
    /// Joints of the follower that were read at all.
    pub joints: Vec<usize>,
    values: Vec<f32>,
}

impl Paths {
    /// Draws the paths of these rows. A joint that most episodes never read has no part in them;
    /// an episode that lacks one of the others is left out, and so is one that was not sketched.
    pub fn of(ledger: &Ledger, rows: &[usize]) -> Self {
        let motions: Vec<(usize, Motion<'_>)> =
            rows.iter().filter_map(|&row| Some((row, ledger.motion(row)?))).collect();
        let read = |motion: &Motion<'_>, joint: usize| motion.moments[joint].mean.is_finite();
        let all = motions.first().map_or(0, |(_, motion)| motion.joints);
        let often = |joint: &usize| {
            2 * motions.iter().filter(|(_, motion)| read(motion, *joint)).count() > motions.len()
        };
        let joints: Vec<usize> = (0..all).filter(often).collect();
        let mut paths = Self { joints, ..Self::default() };
        let mut poses = Vec::with_capacity(POSES * all);
        for (row, motion) in motions {
            if paths.joints.is_empty() || !paths.joints.iter().all(|&j| read(&motion, j)) {
                continue;
            }
            poses.clear();
            poses.resize(POSES * paths.joints.len(), 0.0);
            for (at, &joint) in paths.joints.iter().enumerate() {
                whole(&motion, joint, &mut poses[at..], paths.joints.len());
            }
            paths.values.extend(evenly_along(&poses, paths.joints.len(), PLACES));
            paths.rows.push(row);
        }
        paths
    }

    /// Number of paths.
    pub fn len(&self) -> usize {
        self.rows.len()
    }

    /// The place of a row's path among these.
    pub fn place(&self, row: usize) -> Option<usize> {
        self.rows.binary_search(&row).ok()
    }

    /// Values to a path.
    fn width(&self) -> usize {
        PLACES * self.joints.len()
    }

    fn path(&self, at: usize) -> &[f32] {
        &self.values[at * self.width()..(at + 1) * self.width()]
    }

    /// Distance of two paths in joint space: root of the mean square over their points.
    pub fn distance(&self, a: usize, b: usize) -> f32 {
        (squared(self.path(a), self.path(b)) / PLACES as f32).sqrt()
    }

    /// The same, joint by joint, added to `into`, in the order of [`Self::joints`].
    pub fn add_by_joint(&self, a: usize, b: usize, into: &mut [f64]) {
        let joints = self.joints.len();
        for (i, (x, y)) in self.path(a).iter().zip(self.path(b)).enumerate() {
            into[i % joints] += f64::from(x - y).powi(2) / PLACES as f64;
        }
    }

    /// The `count` paths nearest to one, out of `among`, nearest first, with their distances.
    pub fn nearest(&self, of: usize, among: &[usize], count: usize) -> Vec<(f32, usize)> {
        let mut near: Vec<(f32, usize)> = Vec::with_capacity(count + 1);
        for &other in among.iter().filter(|other| **other != of) {
            let distance = squared(self.path(of), self.path(other));
            if near.len() == count && near.last().is_some_and(|last| distance >= last.0) {
                continue;
            }
            let place = near.partition_point(|n| n.0 <= distance);
            near.insert(place, (distance, other));
            near.truncate(count);
        }
        for (distance, _) in &mut near {
            *distance = (*distance / PLACES as f32).sqrt();
        }
        near
    }
}

/// All of `count`, or a random sample of `most`, ascending; always the same.
pub(super) fn some_of(count: usize, most: usize) -> Vec<usize> {
    if count <= most {
        return (0..count).collect();
    }
    let mut random = ChaCha8Rng::seed_from_u64(SEED);
    let mut some = sample(&mut random, count, most).into_vec();
    some.sort_unstable();
    some
}

/// A joint's poses into every `step`-th place, a missing one taken from its neighbour.
fn whole(motion: &Motion<'_>, joint: usize, into: &mut [f32], step: usize) {
    let mut last = (0..POSES).map(|at| motion.follower(joint, at)).find(|v| v.is_finite());
    for (at, place) in into.iter_mut().step_by(step).take(POSES).enumerate() {
        last = Some(motion.follower(joint, at)).filter(|v| v.is_finite()).or(last);
        // Read at times, but at none of the poses: its mean stands for it.
        *place = last.unwrap_or(motion.moments[joint].mean);
    }
}

fn squared(a: &[f32], b: &[f32]) -> f32 {
    let ((a, a_rest), (b, b_rest)) = (a.as_chunks::<16>(), b.as_chunks::<16>());
    let mut sums = [0f32; 16];
    for (a, b) in a.iter().zip(b) {
        for lane in 0..16 {
            sums[lane] += (a[lane] - b[lane]) * (a[lane] - b[lane]);
        }
    }
    let rest: f32 = a_rest.iter().zip(b_rest).map(|(a, b)| (a - b) * (a - b)).sum();
    sums.iter().sum::<f32>() + rest
}
