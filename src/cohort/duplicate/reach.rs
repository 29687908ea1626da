//! How far each joint reaches in an episode: what noise, rounding, a moved clock and mostly even
//! cut ends leave as it was. Pairs of episodes that agree in much of it, in near-linear time.

use rand::seq::index::sample;
use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;

use super::super::paths::some_of;
use super::DEGREE;
use super::best::Best;
use crate::model::{Ledger, Motion};
use crate::num::quantile::quantiles_in_place;

/// Two reaches of the same motion differ by no more than this: the noise of a count makes the greatest of
/// thousands of readings four counts greater.
const AGREE: f32 = (0.5 * DEGREE) as f32;
/// Share of the reaches that must agree, beside at least one of each joint.
const SHARE: f64 = 0.4;
/// Width of a cell.
const CELL: f32 = (1.5 * DEGREE) as f32;
/// Reaches to a grid, and grids.
const AXES: usize = 3;
const GRIDS: usize = 96;
/// Neighbours looked at in a crowded cell.
const MOST: usize = 24;
/// Reaches that differ little from episode to episode, such as those of the home pose, tell
/// nothing: between the tenth and the ninetieth percentile lies less than this.
const TELLS: f32 = (2.0 * DEGREE) as f32;
/// Fewest reaches looked at, if need be those that differ most.
const FEWEST: usize = 4;
const SEED: u64 = 17;

/// Reaches of one joint: the follower's least and greatest, and the leader's.
const OF_JOINT: usize = 4;

/// The reaches of some episodes, episode by episode, [`OF_JOINT`] to a joint; one that tells nothing
/// is missing.
struct Reaches {
    /// Places of those that tell, those of a joint together.
    kept: Vec<usize>,
    width: usize,
    values: Vec<f32>,
}

impl Reaches {
    fn of(ledger: &Ledger, rows: &[usize]) -> Self {
        let first = rows.first().and_then(|row| ledger.motion(*row));
        let (joints, dimensions) = first.map_or((0, 0), |m| (m.joints, m.moments.len()));
        let some: Vec<Motion<'_>> = some_of(rows.len(), 1_000)
            .into_iter()
            .filter_map(|at| ledger.motion(rows[at]))
            .collect();
        let spread = |at: usize| {
            let column = some.iter().map(|motion| reach(motion, at));
            let mut column: Vec<f32> = column.filter(|v| v.is_finite()).collect();
            let [low, high] = quantiles_in_place(&mut column, [0.1, 0.9]);
            if low.is_finite() { high as f32 - low as f32 } else { 0.0 }
        };
        let all = 2 * dimensions;
        let mut spreads: Vec<(f32, usize)> = (0..all).map(|at| (spread(at), at)).collect();
        spreads.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
        let telling = spreads.iter().filter(|s| s.0 >= TELLS).count().max(FEWEST.min(all));
        let mut kept: Vec<usize> = spreads.iter().take(telling).map(|s| s.1).collect();
        // Joints that differ most come first: strangers are told apart by the first few.
        let joint = |at: usize| (at / 2) % joints.max(1);
        let rank = |at: usize| spreads.iter().position(|s| joint(s.1) == joint(at));
        kept.sort_by_key(|&at| (rank(at), at));
        let of_joints: Vec<&[usize]> = kept.chunk_by(|a, b| joint(*a) == joint(*b)).collect();
        let width = OF_JOINT * of_joints.len();
        let mut values = Vec::with_capacity(rows.len() * width);
        for motion in rows.iter().filter_map(|row| ledger.motion(*row)) {
            for of_joint in &of_joints {
                let missing = OF_JOINT.saturating_sub(of_joint.len());
                values.extend(of_joint.iter().map(|at| reach(&motion, *at)));
                values.extend(std::iter::repeat_n(f32::NAN, missing));
            }
        }
        let places = of_joints.iter().enumerate();
        let places = places.flat_map(|(n, of)| (0..of.len()).map(move |i| OF_JOINT * n + i));
        Self { kept: places.collect(), width, values }
    }

    fn row(&self, at: usize) -> &[f32] {
        &self.values[at * self.width..(at + 1) * self.width]
    }
}

/// Least or greatest position of a dimension.
fn reach(motion: &Motion<'_>, at: usize) -> f32 {
    let moments = motion.moments[at / 2];
    if at.is_multiple_of(2) { moments.least } else { moments.greatest }
}

/// How many reaches agree; nought if none of some joint does.
fn agreeing(a: &[f32], b: &[f32]) -> u32 {
    let mut all = 0;
    for (a, b) in a.as_chunks::<OF_JOINT>().0.iter().zip(b.as_chunks::<OF_JOINT>().0) {
        let mut of_joint = 0;
        for i in 0..OF_JOINT {
            of_joint += u32::from((a[i] - b[i]).abs() <= AGREE);
        }
        if of_joint == 0 {
            return 0;
        }
        all += of_joint;
    }
    all
}

/// Places in `rows` that may be copies, each with the earlier places that they may be copies of.
///
/// Random grids of three reaches each: of a true pair one has both in the same cell nearly always,
/// of two strangers hardly ever. In a crowded cell only neighbours in a fourth reach are compared.
pub(super) fn candidates(
    ledger: &Ledger,
    rows: &[usize],
) -> impl Iterator<Item = (usize, impl Iterator<Item = usize>)> {
    let reaches = Reaches::of(ledger, rows);
    let mut random = ChaCha8Rng::seed_from_u64(SEED);
    let (telling, width) = (reaches.kept.len(), reaches.width);
    let axes = AXES.min(telling);
    let least = (SHARE * telling as f64).ceil().max(1.0) as u32;
    let mut best = Best::of(rows.len());
    // Cell and episode: one number, which sorts fast.
    let mut cells: Vec<u64> = Vec::with_capacity(rows.len());
    // The reaches of a cell's episodes side by side.
    let mut beside: Vec<f32> = Vec::new();
    for _ in 0..if axes > 0 { GRIDS } else { 0 } {
        let chosen = sample(&mut random, telling, axes).into_vec();
        let order = reaches.kept[random.random_range(0..telling)];
        let shifts: Vec<f32> = chosen.iter().map(|_| random.random_range(0.0..1.0)).collect();
        cells.clear();
        for at in 0..rows.len() {
            let row = reaches.row(at);
            let mut cell = 0u64;
            for (&axis, shift) in chosen.iter().zip(&shifts) {
                let place = floor(row[reaches.kept[axis]] / CELL + shift);
                cell = cell.wrapping_mul(0x9E37_79B9_7F4A_7C15).wrapping_add(place as u64);
            }
            // Half of the hash: two cells that share it are compared for nothing, once in many.
            cells.push(cell >> 32 << 32 | at as u64);
        }
        cells.sort_unstable();
        for cell in cells.chunk_by_mut(|a, b| a >> 32 == b >> 32).filter(|cell| cell.len() > 1) {
            if cell.len() > MOST + 1 {
                let place = |key: &u64| reaches.row(*key as u32 as usize)[order];
                cell.sort_unstable_by_key(|key| (ascending(place(key)), *key));
            }
            let at = |place: usize| cell[place] as u32;
            beside.clear();
            (0..cell.len()).for_each(|place| beside.extend(reaches.row(at(place) as usize)));
            for (place, own) in beside.chunks_exact(width).enumerate() {
                let others = beside[(place + 1) * width..].chunks_exact(width).take(MOST);
                for (next, other) in others.enumerate() {
                    let agreeing = agreeing(own, other);
                    if agreeing >= least {
                        best.enter(at(place), at(place + 1 + next), agreeing);
                    }
                }
            }
        }
    }
    best.all()
}

/// The same as of the library, which calls a function for it on plain processors.
fn floor(value: f32) -> i64 {
    let towards_nought = value as i64;
    towards_nought - i64::from(value < towards_nought as f32)
}

/// Bits that are in the order of the numbers.
fn ascending(value: f32) -> u32 {
    let bits = value.to_bits();
    if bits >> 31 == 0 { bits | 1 << 31 } else { !bits }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bits_ascend_with_the_numbers() {
        let numbers = [f32::NEG_INFINITY, -3.0, -1e-9, 0.0, 1e-9, 2.5, 7.0, f32::INFINITY];
        assert!(numbers.windows(2).all(|pair| ascending(pair[0]) < ascending(pair[1])));
    }

    #[test]
    fn every_joint_must_agree_in_one_reach_and_missing_ones_never_do() {
        let missing = f32::NAN;
        let a = [0.0, 1.0, 0.0, 1.0, 2.0, 3.0, missing, missing];
        let mut b = [0.0, 1.0, 0.5, 1.0, 2.5, 3.0, missing, missing];
        assert_eq!(agreeing(&a, &b), 4);
        b[5] = 3.5;
        assert_eq!(agreeing(&a, &b), 0);
    }
}
