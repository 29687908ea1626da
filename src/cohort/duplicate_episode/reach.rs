//! How far each joint reaches in an episode: what noise, rounding, a moved clock and mostly even
//! cut ends leave as it was. Pairs of episodes that agree in much of it, in near-linear time.

use rand::seq::index::sample;
use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;

use super::super::paths::some_of;
use super::best::Best;
use super::cell::{AGREE, Cell, LANES};
use crate::model::{Ledger, Motion};
use crate::num::quantile::quantiles_in_place;
use crate::num::wide::widely;

const DEGREE: f64 = std::f64::consts::PI / 180.0;
/// Reaches are compared in steps of this.
const STEP: f64 = 0.02 * DEGREE;
/// Share of the reaches that must agree, next to at least one of each joint.
const SHARE: f64 = 0.4;
/// Width of a cell in steps: a degree and a half.
const CELL: u32 = 75;
/// Reaches to a grid, and grids.
const AXES: usize = 3;
const GRIDS: usize = 96;
/// Reaches that differ little from episode to episode, such as those of the home pose, tell
/// nothing: between the tenth and the ninetieth percentile lies less than this.
const TELLS: f32 = (2.0 * DEGREE) as f32;
/// Fewest reaches looked at, if need be those that differ most.
const FEWEST: usize = 4;
const SEED: u64 = 17;

/// Reaches of one joint: the follower's smallest and largest, and the leader's.
const OF_JOINT: usize = 4;
/// A reach that was not read.
pub(super) const MISSING: u16 = u16::MAX;

/// The reaches of some episodes in steps, episode by episode, [`OF_JOINT`] to a joint.
struct Reaches {
    /// Places of those that tell, those of a joint together.
    kept: Vec<usize>,
    width: usize,
    steps: Vec<u16>,
}

impl Reaches {
    fn of(ledger: &Ledger, rows: &[usize]) -> Self {
        let first = rows.first().and_then(|row| ledger.motion(*row));
        let (joints, dimensions) = first.map_or((0, 0), |m| (m.joints, m.moments.len()));
        let some: Vec<Motion<'_>> = some_of(rows.len(), 1_000)
            .into_iter()
            .filter_map(|at| ledger.motion(rows[at]))
            .collect();
        let ends = |at: usize| {
            let column = some.iter().map(|motion| reach(motion, at));
            let mut column: Vec<f32> = column.filter(|v| v.is_finite()).collect();
            quantiles_in_place(&mut column, [0.1, 0.9])
        };
        let ends: Vec<[f64; 2]> = (0..2 * dimensions).map(ends).collect();
        let spread = |at: usize| {
            let [low, high] = ends[at];
            if low.is_finite() { (high - low) as f32 } else { 0.0 }
        };
        let all = 2 * dimensions;
        let mut spreads: Vec<(f32, usize)> = (0..all).map(|at| (spread(at), at)).collect();
        spreads.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
        let telling = spreads.iter().filter(|s| s.0 >= TELLS).count().max(FEWEST.min(all));
        let mut kept: Vec<usize> = spreads.iter().take(telling).map(|s| s.1).collect();
        let joint = |at: usize| (at / 2) % joints.max(1);
        kept.sort_by_key(|&at| (joint(at), at));
        let of_joints: Vec<&[usize]> = kept.chunk_by(|a, b| joint(*a) == joint(*b)).collect();
        let width = (OF_JOINT * of_joints.len()).next_multiple_of(LANES);
        let places = of_joints.iter().enumerate();
        let places = places.flat_map(|(n, of)| (0..of.len()).map(move |i| OF_JOINT * n + i));
        let places: Vec<usize> = places.collect();
        let mut steps = vec![MISSING; rows.len() * width];
        for (row, into) in rows.iter().zip(steps.chunks_exact_mut(width.max(1))) {
            let Some(motion) = ledger.motion(*row) else { continue };
            for (&place, &at) in places.iter().zip(&kept) {
                let value = f64::from(reach(&motion, at));
                if value.is_finite() {
                    // What lies far below or above what is usual is held at the ends.
                    let middle = 0.5 * f64::from(MISSING);
                    let step = (value - ends[at][0]) / STEP + middle;
                    into[place] = step.clamp(0.0, f64::from(MISSING - 1)) as u16;
                }
            }
        }
        Self { kept: places, width, steps }
    }

    fn row(&self, at: usize) -> &[u16] {
        &self.steps[at * self.width..(at + 1) * self.width]
    }
}

/// Smallest or largest position of a dimension.
fn reach(motion: &Motion<'_>, at: usize) -> f32 {
    let moments = motion.moments[at / 2];
    if at.is_multiple_of(2) { moments.min } else { moments.max }
}

/// Whether at least one reach of each joint agrees; missing ones never do.
fn of_each_joint(a: &[u16], b: &[u16], joints: usize) -> bool {
    let pairs = a.as_chunks::<OF_JOINT>().0.iter().zip(b.as_chunks::<OF_JOINT>().0);
    let agree = |(a, b): (&u16, &u16)| *a != MISSING && *b != MISSING && a.abs_diff(*b) <= AGREE;
    pairs.take(joints).all(|(a, b)| a.iter().zip(b).any(agree))
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
    let telling = reaches.kept.len();
    let joints = reaches.kept.last().map_or(0, |last| last / OF_JOINT + 1);
    let axes = AXES.min(telling);
    let mut mask = vec![0u16; reaches.width];
    reaches.kept.iter().for_each(|&place| mask[place] = 1);
    let smallest = (SHARE * telling as f64).ceil().max(1.0) as u16;
    let mut best = Best::of(rows.len());
    // Cell, fourth reach and episode: one number, which sorts fast. What is left for the cell is part
    // of its hash: two cells that share it are compared for nothing, once in many.
    let number = usize::BITS - rows.len().leading_zeros();
    let beside = number + u16::BITS;
    let mut keys: Vec<u64> = Vec::with_capacity(rows.len());
    let mut cell = Cell::new(&mask, smallest);
    for _ in 0..if axes > 0 { GRIDS } else { 0 } {
        let chosen = sample(&mut random, telling, axes).into_vec();
        let order = reaches.kept[random.random_range(0..telling)];
        let axes: Vec<(usize, u32)> =
            chosen.iter().map(|&axis| (reaches.kept[axis], random.random_range(0..CELL))).collect();
        keys.clear();
        for at in 0..rows.len() {
            let row = reaches.row(at);
            let mut hash = 0u64;
            for &(axis, shift) in &axes {
                let place = (u32::from(row[axis]) + shift) / CELL;
                hash = (hash ^ u64::from(place)).wrapping_mul(0x9E37_79B9_7F4A_7C15);
            }
            keys.push(hash >> beside << beside | u64::from(row[order]) << number | at as u64);
        }
        keys.sort_unstable();
        for keys in keys.chunk_by(|a, b| a >> beside == b >> beside).filter(|keys| keys.len() > 1) {
            let at = |place: usize| (keys[place] & ((1 << number) - 1)) as usize;
            cell.fill((0..keys.len()).map(|place| reaches.row(at(place))));
            for (one, other, agreeing) in widely(&mut cell) {
                let (one, other) = (at(one), at(other));
                if of_each_joint(reaches.row(one), reaches.row(other), joints) {
                    best.enter(one as u32, other as u32, u32::from(agreeing));
                }
            }
        }
    }
    best.all()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_joint_must_agree_in_one_reach_and_missing_ones_never_do() {
        let a = [0, 100, 0, 100, 200, 300, MISSING, MISSING];
        let mut b = [0, 100, 50, 100, 226, 325, MISSING, MISSING];
        assert!(of_each_joint(&a, &b, 2));
        b[5] = 326;
        assert!(!of_each_joint(&a, &b, 2));
        assert!(of_each_joint(&a, &b, 1));
    }
}
