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
    /// Means of each joint over the path's [`SECTIONS`], times the root of the points in them: their
    /// distances are never greater than those of the paths.
    coarse: Vec<f32>,
}

/// Parts into which a path is cut to see quickly that another one is far.
const SECTIONS: usize = 4;
/// Coarse values to a path are a multiple of this.
const LANES: usize = 8;
/// Rounding may make a coarse distance this much too great.
const ROUNDED: f32 = 1.0 - 1e-4;

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
            let even = evenly_along(&poses, paths.joints.len(), PLACES);
            coarsely(&even, paths.joints.len(), &mut paths.coarse);
            paths.values.extend(even);
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

    fn glance(&self, at: usize) -> &[f32] {
        let width = (SECTIONS * self.joints.len()).next_multiple_of(LANES);
        &self.coarse[at * width..(at + 1) * width]
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
        let mut farthest = f32::INFINITY;
        for &other in among.iter().filter(|other| **other != of) {
            // Nearly all paths are far, and most show it at a glance.
            if ROUNDED * lanes_squared(self.glance(of), self.glance(other)) >= farthest {
                continue;
            }
            let distance = squared(self.path(of), self.path(other));
            if distance >= farthest {
                continue;
            }
            let place = near.partition_point(|n| n.0 <= distance);
            near.insert(place, (distance, other));
            near.truncate(count);
            if near.len() == count {
                farthest = near.last().map_or(f32::INFINITY, |last| last.0);
            }
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

/// Appends a path's coarse values.
fn coarsely(path: &[f32], joints: usize, into: &mut Vec<f32>) {
    let start = into.len();
    for section in 0..SECTIONS {
        let (from, to) = (section * PLACES / SECTIONS, (section + 1) * PLACES / SECTIONS);
        let root = ((to - from) as f32).sqrt();
        for joint in 0..joints {
            let sum: f32 = (from..to).map(|place| path[place * joints + joint]).sum();
            // The mean times the root of their number.
            into.push(sum / root);
        }
    }
    let width = (into.len() - start).next_multiple_of(LANES);
    into.resize(start + width, 0.0);
}

fn lanes_squared(a: &[f32], b: &[f32]) -> f32 {
    let mut sums = [0f32; LANES];
    for (a, b) in a.as_chunks::<LANES>().0.iter().zip(b.as_chunks::<LANES>().0) {
        for lane in 0..LANES {
            sums[lane] += (a[lane] - b[lane]) * (a[lane] - b[lane]);
        }
    }
    sums.iter().sum()
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cohort::motions::{ledger, sound};
    use crate::demo::DemoError;

    #[test]
    fn a_glance_hides_no_near_path() -> Result<(), DemoError> {
        let ledger = ledger(&sound(3, 120), |_, r| r)?;
        let rows: Vec<usize> = (0..120).collect();
        let paths = Paths::of(&ledger, &rows);
        for of in 0..120 {
            let mut all: Vec<(f32, usize)> = rows
                .iter()
                .filter(|at| **at != of)
                .map(|&at| (paths.distance(of, at), at))
                .collect();
            all.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
            assert_eq!(paths.nearest(of, &rows, 5), all[..5], "{of}");
            for (distance, at) in all {
                let glance = lanes_squared(paths.glance(of), paths.glance(at)) / PLACES as f32;
                assert!(ROUNDED * glance <= distance * distance, "{of} {at}");
            }
        }
        Ok(())
    }
}
