//! The paths of episodes in joint space, freed of tempo, and how far they are from each other.

use std::array::from_fn;
use std::f64::consts::PI;
use std::sync::LazyLock;

use rand::SeedableRng;
use rand::seq::index::sample;
use rand_chacha::ChaCha8Rng;
use statrs::distribution::{ContinuousCDF, Normal};

use crate::model::{Ledger, Motion, POSES};
use crate::num::lanes::squared_distance;
use crate::num::path::evenly_along;
use crate::num::wide::wide_fn;

/// Points to a path.
pub(super) const PLACES: usize = 17;
/// Seed of random samples of episodes.
const SEED: u64 = 16;

/// Robust sigmas beyond which a value is suspect: Iglewicz & Hoaglin 1993.
const SUSPECT: f64 = 3.5;
/// Probability that any of a healthy session's values is beyond the cut-off, were they normal.
const FALSE_ALARM: f64 = 0.05;

/// Sigmas beyond which one of so many values is odd.
pub(super) fn cut_off(values: usize) -> f64 {
    let of_many = 1.0 - FALSE_ALARM / values.max(1) as f64;
    Normal::standard().inverse_cdf(of_many).max(SUSPECT)
}

/// Paths of [`PLACES`] points evenly along them, point by point, a coordinate to a joint; drawn when
/// they are asked for, as those of a large session would take as much room as all that is known of it.
pub(super) struct Paths<'a> {
    ledger: &'a Ledger,
    /// Rows of the ledger that have a path.
    pub rows: Vec<usize>,
    /// Joints of the follower that were read at all.
    pub joints: Vec<usize>,
}

impl<'a> Paths<'a> {
    /// The paths of these rows. A joint that most episodes never read has no part in them; an episode
    /// that lacks one of the others is left out, and so is one that was not sketched.
    pub fn of(ledger: &'a Ledger, rows: &[usize]) -> Self {
        let motion = |row: &usize| Some((*row, ledger.motion(*row)?));
        let motions = || rows.iter().filter_map(motion);
        let read = |motion: &Motion<'_>, joint: usize| motion.moments[joint].mean.is_finite();
        let all = motions().next().map_or(0, |(_, motion)| motion.joints);
        let count = motions().count();
        let often = |joint: &usize| {
            2 * motions().filter(|(_, motion)| read(motion, *joint)).count() > count
        };
        let joints: Vec<usize> = (0..all).filter(often).collect();
        let whole = |motion: &Motion<'_>| {
            !joints.is_empty() && joints.iter().all(|joint| read(motion, *joint))
        };
        let rows = motions().filter(|(_, motion)| whole(motion)).map(|(row, _)| row).collect();
        Self { ledger, rows, joints }
    }

    /// Number of paths.
    pub fn len(&self) -> usize {
        self.rows.len()
    }

    /// The place of a row's path among these.
    pub fn place(&self, row: usize) -> Option<usize> {
        self.rows.binary_search(&row).ok()
    }

    /// One of them.
    pub fn draw(&self, at: usize) -> Vec<f32> {
        let joints = self.joints.len();
        let mut poses = vec![0.0; POSES * joints];
        if let Some(motion) = self.ledger.motion(self.rows[at]) {
            for (place, &joint) in self.joints.iter().enumerate() {
                whole(&motion, joint, &mut poses[place..], joints);
            }
        }
        evenly_along(&poses, joints, PLACES)
    }

    /// Some of them, to hold others against.
    pub fn neighbours(&self, places: Vec<usize>) -> Neighbours {
        let joints = self.joints.len();
        let dimensions = WAVES * joints;
        let blocks = places.len().div_ceil(LANES);
        // A lane that is nobody's is far from everything.
        let mut glances = vec![f32::INFINITY; blocks * dimensions * LANES];
        let mut values = Vec::with_capacity(places.len() * PLACES * joints);
        for (at, &place) in places.iter().enumerate() {
            let path = self.draw(place);
            let block = &mut glances[at / LANES * dimensions * LANES..];
            for (dimension, value) in outline(&path, joints).into_iter().enumerate() {
                block[dimension * LANES + at % LANES] = value;
            }
            values.extend(path);
        }
        Neighbours { places, joints, values, glances }
    }
}

/// Cosines that a path's outline is made of, to see quickly that another one is far.
const WAVES: usize = 4;
/// Paths that are glanced at together.
const LANES: usize = 16;
/// Rounding may make the distance of two outlines this much too great.
const ROUNDED: f32 = 1.0 - 1e-3;

/// Paths that are held, to hold others against.
pub(super) struct Neighbours {
    /// Their places among the paths.
    pub places: Vec<usize>,
    joints: usize,
    values: Vec<f32>,
    /// Outlines, [`LANES`] paths side by side, dimension by dimension.
    glances: Vec<f32>,
}

impl Neighbours {
    /// One of them.
    pub fn path(&self, at: usize) -> &[f32] {
        let width = PLACES * self.joints;
        &self.values[at * width..(at + 1) * width]
    }

    /// Distance of two of them in joint space: root of the mean square over their points.
    pub fn distance(&self, a: usize, b: usize) -> f32 {
        (squared_distance(self.path(a), self.path(b)) / PLACES as f32).sqrt()
    }

    /// The same of a path and one of them, joint by joint and squared, added to `into`.
    pub fn add_by_joint(&self, path: &[f32], at: usize, into: &mut [f64]) {
        for (i, (x, y)) in path.iter().zip(self.path(at)).enumerate() {
            into[i % self.joints] += f64::from(x - y).powi(2) / PLACES as f64;
        }
    }

    /// The `count` of them that are nearest to a path, nearest first, with their distances; but not
    /// the one from the path's own place.
    pub fn nearest(&self, path: &[f32], own: usize, count: usize) -> Vec<(f32, usize)> {
        let outline = outline(path, self.joints);
        let mut near: Vec<(f32, usize)> = Vec::with_capacity(count + 1);
        let mut farthest = f32::INFINITY;
        let mut glances = Vec::with_capacity(self.places.len().div_ceil(LANES));
        glance(&self.glances, &outline, &mut glances);
        for (block, (glances, places)) in glances.iter().zip(self.places.chunks(LANES)).enumerate()
        {
            // Nearly all paths are far, and nearly all of these show it at a glance.
            if ROUNDED * least(glances) >= farthest {
                continue;
            }
            for (lane, place) in places.iter().enumerate() {
                if *place == own || ROUNDED * glances[lane] >= farthest {
                    continue;
                }
                let at = block * LANES + lane;
                let distance = squared_distance(path, self.path(at));
                if distance >= farthest {
                    continue;
                }
                near.insert(near.partition_point(|n| n.0 <= distance), (distance, at));
                near.truncate(count);
                if near.len() == count {
                    farthest = near.last().map_or(f32::INFINITY, |last| last.0);
                }
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
    let poses = motion.followers(joint);
    let mut last = poses.into_iter().find(|v| v.is_finite());
    for (pose, place) in poses.into_iter().zip(into.iter_mut().step_by(step)) {
        last = Some(pose).filter(|v| v.is_finite()).or(last);
        // Read at times, but at none of the poses: its mean stands for it.
        *place = last.unwrap_or(motion.moments[joint].mean);
    }
}

/// The slowest of the cosines that make up each joint's way along the path: two outlines are never
/// farther apart than their paths, and hardly nearer, as ways are smooth.
///
/// Source: Ahmed, Natarajan & Rao 1974, IEEE Transactions on Computers 23(1), 90-93, of length one.
fn outline(path: &[f32], joints: usize) -> Vec<f32> {
    let mut outline = vec![0.0; WAVES * joints];
    for (waves, point) in COSINES.iter().zip(path.chunks_exact(joints.max(1))) {
        for (into, wave) in outline.chunks_exact_mut(joints.max(1)).zip(waves) {
            into.iter_mut().zip(point).for_each(|(into, value)| *into += wave * value);
        }
    }
    outline
}

/// What each point has of each cosine.
static COSINES: LazyLock<[[f32; WAVES]; PLACES]> = LazyLock::new(|| {
    let scale = |wave: usize| (if wave == 0 { 1.0 } else { 2.0 } / PLACES as f64).sqrt();
    let angle = |wave: usize, at: usize| PI * wave as f64 * (at as f64 + 0.5) / PLACES as f64;
    from_fn(|at| from_fn(|wave| (scale(wave) * angle(wave, at).cos()) as f32))
});

wide_fn! {
    /// Squared distances of an outline from those of all blocks.
    fn glance<'a>(blocks: &'a [f32], outline: &'a [f32], out: &'a mut Vec<[f32; LANES]>) {
        for block in blocks.chunks_exact((outline.len() * LANES).max(1)) {
            let mut sums = [0f32; LANES];
            for (values, own) in block.as_chunks::<LANES>().0.iter().zip(outline) {
                for lane in 0..LANES {
                    sums[lane] += (values[lane] - own) * (values[lane] - own);
                }
            }
            out.push(sums);
        }
    }
}

fn least(values: &[f32; LANES]) -> f32 {
    values
        .iter()
        .fold(f32::INFINITY, |smallest, value| if *value < smallest { *value } else { smallest })
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
        // Not a multiple of what is glanced at together.
        for held in [120, 33, 5] {
            let neighbours = paths.neighbours(some_of(120, held));
            for of in 0..120 {
                let path = paths.draw(of);
                let outline = outline(&path, paths.joints.len());
                let mut glances = Vec::new();
                glance(&neighbours.glances, &outline, &mut glances);
                let glances = glances.concat();
                let others = (0..held).filter(|at| neighbours.places[*at] != of);
                let distance = |at: usize| {
                    (squared_distance(&path, neighbours.path(at)) / PLACES as f32).sqrt()
                };
                let mut all: Vec<(f32, usize)> = others.map(|at| (distance(at), at)).collect();
                all.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
                let near = neighbours.nearest(&path, of, 5);
                assert_eq!(near, all[..5.min(all.len())], "{of} of {held}");
                for (distance, at) in all {
                    let glance = glances[at] / PLACES as f32;
                    assert!(ROUNDED * glance <= distance * distance, "{of} {at}");
                }
            }
        }
        Ok(())
    }
}
