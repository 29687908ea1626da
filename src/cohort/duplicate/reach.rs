//! How far each joint reaches in an episode: what noise, rounding, a moved clock and mostly even
//! cut ends leave as it was. Pairs of episodes that agree in much of it, in near-linear time.

use std::cmp::Reverse;

use rand::seq::index::sample;
use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;

use super::super::paths::some_of;
use super::DEGREE;
use crate::model::Ledger;
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
/// Earlier episodes, at most, that one is held against.
const BEST: usize = 4;
const SEED: u64 = 17;

/// The reaches of some episodes, episode by episode, those of one joint together.
struct Reaches {
    width: usize,
    /// Where each joint's reaches end.
    ends: Vec<usize>,
    values: Vec<f32>,
}

impl Reaches {
    fn of(ledger: &Ledger, rows: &[usize]) -> Self {
        let first = rows.first().and_then(|row| ledger.motion(*row));
        let (joints, width) = first.map_or((0, 0), |m| (m.joints, m.moments.len()));
        let all: Vec<f32> = rows
            .iter()
            .filter_map(|row| ledger.motion(*row))
            .flat_map(|motion| motion.moments.iter().flat_map(|m| [m.least, m.greatest]))
            .collect();
        let width = 2 * width;
        let some = some_of(rows.len(), 1_000);
        let spread = |at: usize| {
            let column = some.iter().map(|row| all[row * width + at]);
            let mut column: Vec<f32> = column.filter(|v| v.is_finite()).collect();
            let [low, high] = quantiles_in_place(&mut column, [0.1, 0.9]);
            if low.is_finite() { high as f32 - low as f32 } else { 0.0 }
        };
        let mut spreads: Vec<(f32, usize)> = (0..width).map(|at| (spread(at), at)).collect();
        spreads.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
        let telling = spreads.iter().filter(|s| s.0 >= TELLS).count().max(FEWEST.min(width));
        let mut kept: Vec<usize> = spreads.iter().take(telling).map(|s| s.1).collect();
        // Joints that differ most come first: strangers are told apart by the first few.
        let joint = |at: usize| (at / 2) % joints.max(1);
        let rank = |at: usize| spreads.iter().position(|s| joint(s.1) == joint(at));
        kept.sort_by_key(|&at| (rank(at), at));
        let ends =
            (1..=kept.len()).filter(|&i| i == kept.len() || joint(kept[i]) != joint(kept[i - 1]));
        let ends = ends.collect();
        let values = all.chunks_exact(width.max(1)).flat_map(|row| kept.iter().map(|&at| row[at]));
        Self { width: kept.len(), ends, values: values.collect() }
    }

    fn row(&self, at: usize) -> &[f32] {
        &self.values[at * self.width..(at + 1) * self.width]
    }

    /// How many reaches agree, if enough for a copy.
    fn agree(&self, a: usize, b: usize) -> Option<usize> {
        let (a, b) = (self.row(a), self.row(b));
        let (mut from, mut agreeing) = (0, 0);
        for &end in &self.ends {
            let pairs = a[from..end].iter().zip(&b[from..end]);
            let of_joint = pairs.filter(|(a, b)| (*a - *b).abs() <= AGREE).count();
            if of_joint == 0 {
                return None;
            }
            agreeing += of_joint;
            from = end;
        }
        (agreeing as f64 >= SHARE * self.width as f64).then_some(agreeing)
    }
}

/// Pairs of places in `rows` that may be copies, the earlier first.
///
/// Random grids of three reaches each: of a true pair one has both in the same cell nearly always,
/// of two strangers hardly ever. In a crowded cell only neighbours in a fourth reach are compared.
pub(super) fn candidates(ledger: &Ledger, rows: &[usize]) -> Vec<(usize, usize)> {
    let reaches = Reaches::of(ledger, rows);
    let mut random = ChaCha8Rng::seed_from_u64(SEED);
    let mut pairs: Vec<(usize, Reverse<usize>, usize)> = Vec::new();
    let axes = AXES.min(reaches.width);
    if axes == 0 {
        return Vec::new();
    }
    let mut cells: Vec<(u64, f32, u32)> = Vec::with_capacity(rows.len());
    for _ in 0..GRIDS {
        let chosen = sample(&mut random, reaches.width, axes).into_vec();
        let order = random.random_range(0..reaches.width);
        let shifts: Vec<f32> = chosen.iter().map(|_| random.random_range(0.0..1.0)).collect();
        cells.clear();
        for at in 0..rows.len() {
            let row = reaches.row(at);
            let mut cell = 0u64;
            for (&axis, shift) in chosen.iter().zip(&shifts) {
                let place = (row[axis] / CELL + shift).floor() as i64;
                cell = cell.wrapping_mul(0x9E37_79B9_7F4A_7C15).wrapping_add(place as u64);
            }
            cells.push((cell, row[order], at as u32));
        }
        cells.sort_unstable_by(|a, b| a.0.cmp(&b.0).then(a.1.total_cmp(&b.1)).then(a.2.cmp(&b.2)));
        for (at, one) in cells.iter().enumerate() {
            let near = |other: &&(u64, f32, u32)| other.0 == one.0;
            for other in cells[at + 1..].iter().take(MOST).take_while(near) {
                let (a, b) = (one.2.min(other.2) as usize, one.2.max(other.2) as usize);
                if let Some(agreeing) = reaches.agree(a, b) {
                    pairs.push((b, Reverse(agreeing), a));
                }
            }
        }
        pairs.sort_unstable();
        pairs.dedup();
    }
    // Of each episode, those that agree best.
    let alike = pairs.chunk_by(|x, y| x.0 == y.0).flat_map(|of| of.iter().take(BEST));
    alike.map(|&(b, _, a)| (a, b)).collect()
}
