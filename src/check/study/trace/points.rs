//! The points of a trace, eight to a block, as the fit's loops want them: whole vectors of each
//! term, and no test at the end of each.
#![expect(clippy::inline_always, reason = "what is not inlined stays narrow")]

use nalgebra::{SMatrix, SVector};
use pulp::{cast, f32x8, f64x4};

use super::thinned::Trace;
use crate::num::wide::{Eight, eight_fn, wide_fn};

/// Unknowns of the fit: constant, side of the backlash, speed, pose, acceleration, speed as time goes.
pub(super) const TERMS: usize = 6;
/// Which of them is the side of the backlash.
const SIDE: usize = 1;
/// With so many points every second one will do.
const PLENTY: usize = 300;
/// Points that a fit needs.
pub(super) const ENOUGH: usize = 20;
/// From this speed on a point counts in full: 3 degrees a second. Points at rest are many and say
/// one thing over and over.
const FULL_SPEED: f64 = 0.05;
/// Points to a block.
const LANES: usize = 8;

type Lanes = [f32; LANES];

/// Eight points; those past the last one weigh nothing.
#[derive(Debug, Clone, Copy)]
struct Block {
    error: Lanes,
    weight: Lanes,
    terms: [Lanes; TERMS],
}

/// What is fitted, and by what.
#[derive(Debug)]
pub(super) struct Points {
    blocks: Vec<Block>,
    count: usize,
    stride: usize,
    unit: f64,
    /// Sums over all points, but for those of the side of the backlash, which alone changes from round
    /// to round.
    all: Sums,
    /// Weights of the points that are kept.
    kept: Vec<Lanes>,
}

impl Points {
    /// Of many points every second one is taken: neighbours say nearly the same.
    pub fn of(trace: &Trace, pose: f32, unit: f64) -> Self {
        let stride = if trace.at.len() < PLENTY { 1 } else { 2 };
        let count = trace.at.len().div_ceil(stride);
        let blocks = gather(trace, pose, unit, stride);
        let kept = vec![[0.0; LANES]; blocks.len()];
        let mut points = Self { blocks, count, stride, unit, all: Sums::default(), kept };
        points.all = everything(&points.blocks);
        points
    }

    /// On which side the backlash rests at each point of the trace.
    pub fn rest(&mut self, side: &[f32]) {
        let mut sides = side.iter().step_by(self.stride);
        for block in &mut self.blocks {
            block.terms[SIDE].iter_mut().zip(&mut sides).for_each(|(to, side)| *to = *side);
        }
    }

    /// What these terms leave of each error, without its sign.
    pub fn residuals(&self, terms: &[f64; TERMS], out: &mut Vec<f32>) {
        out.clear();
        residuals(&self.blocks, terms.map(|t| t as f32), out);
        out.truncate(self.count);
    }

    /// Least squares over the points that the last solution left within `keep`: the solution, and
    /// how many they are.
    pub fn solve(&mut self, last: &[f64; TERMS], keep: f32) -> Option<([f64; TERMS], usize)> {
        let (blocks, kept) = (&self.blocks, &mut self.kept);
        let terms = last.map(|t| t as f32);
        let side = sides(blocks, kept, terms, keep);
        let (mut sums, mut points) = (self.all.clone(), self.count);
        for (block, kept) in self.blocks.iter().zip(&self.kept).filter(|(b, k)| b.weight != **k) {
            for lane in (0..LANES).filter(|lane| kept[*lane] != block.weight[*lane]) {
                points -= 1;
                sums.leave_out(block, lane);
            }
        }
        if points < ENOUGH {
            return None;
        }
        for (term, sum) in side[..TERMS].iter().enumerate() {
            sums.square[term.max(SIDE)][term.min(SIDE)] = *sum;
        }
        sums.right[SIDE] = side[TERMS];
        // What the points say next to nothing of stays next to zero. On a pure sine the
        // acceleration is the pose over again; there all of it is given to the pose.
        let (n, square) = (points as f64, points as f64 * self.unit * self.unit);
        let ridge = [0.0, 1e-5 * n, 1e-6 * square, 1e-6 * square, 1e-2 * square, 1e-6 * square];
        let entry = |r: usize, c: usize| sums.square[r.max(c)][r.min(c)];
        let matrix = SMatrix::<f64, TERMS, TERMS>::from_fn(|r, c| {
            entry(r, c) + if r == c { ridge[r] } else { 0.0 }
        });
        let solved = matrix.cholesky()?.solve(&SVector::<f64, TERMS>::from(sums.right));
        Some((solved.into(), points))
    }
}

/// Sums of the normal equations: lower triangle and right side.
#[derive(Debug, Clone, Default)]
struct Sums {
    square: [[f64; TERMS]; TERMS],
    right: [f64; TERMS],
}

impl Sums {
    fn leave_out(&mut self, block: &Block, lane: usize) {
        let x = block.terms.map(|term| term[lane]);
        for row in 0..TERMS {
            let weighted = f64::from(block.weight[lane] * x[row]);
            for (sum, x) in self.square[row][..=row].iter_mut().zip(x) {
                *sum -= weighted * f64::from(x);
            }
            self.right[row] -= weighted * f64::from(block.error[lane]);
        }
    }
}

wide_fn! {
    /// The points of a trace in blocks.
    fn gather<'a>(trace: &'a Trace, pose: f32, unit: f64, stride: usize) -> Vec<Block> {
        let count = trace.at.len();
        let mut blocks = Vec::with_capacity(count.div_ceil(stride).div_ceil(LANES));
        let slowness = (1.0 / (FULL_SPEED * unit)) as f32;
        let ends = trace.at.first().zip(trace.at.last());
        let (first, last) = ends.map_or((0.0, 1.0), |(a, b)| (*a as f32, *b as f32));
        let (middle, scale) = (0.5 * (first + last), 2.0 / (last - first).max(1.0));
        let chunk = |values: &'_ [f32], at: usize, into: &mut Lanes| {
            let values = &values[at..];
            // All but the last block are whole: these are plain copies.
            if let (1, Some(whole)) = (stride, values.first_chunk::<LANES>()) {
                *into = *whole;
            } else if let (2, Some(whole)) = (stride, values.first_chunk::<{ 2 * LANES }>()) {
                for lane in 0..LANES {
                    into[lane] = whole[2 * lane];
                }
            } else {
                let values = values.iter().step_by(stride);
                into.iter_mut().zip(values).for_each(|(to, value)| *to = *value);
            }
        };
        for at in (0..count).step_by(stride * LANES) {
            let mut block =
                Block { error: [0.0; LANES], weight: [0.0; LANES], terms: [[0.0; LANES]; TERMS] };
            let (mut speed, mut way, mut leader) = ([0.0; LANES], [0.0; LANES], [pose; LANES]);
            chunk(&trace.error, at, &mut block.error);
            chunk(&trace.speed, at, &mut speed);
            chunk(&trace.bend, at, &mut block.terms[4]);
            chunk(&trace.leader, at, &mut leader);
            let times = trace.at[at..].iter().step_by(stride);
            way.iter_mut().zip(times).for_each(|(to, at)| *to = (*at as f32 - middle) * scale);
            let there = (count - at).div_ceil(stride).min(LANES);
            for lane in 0..LANES {
                let one = if lane < there { 1.0 } else { 0.0 };
                block.terms[0][lane] = one;
                block.terms[2][lane] = speed[lane];
                block.terms[3][lane] = leader[lane] - pose;
                block.terms[5][lane] = way[lane] * speed[lane];
                let counts = speed[lane].abs() * slowness;
                block.weight[lane] = one * (if counts < 1.0 { counts } else { 1.0 } + 0.02);
            }
            blocks.push(block);
        }
        blocks
    }
}

/// Sums in lanes of double precision.
type Sums4 = f64x4;

/// Adds products, those of the second half to those of the first.
#[inline(always)]
fn add<S: Eight>(simd: S, sum: Sums4, a: [f64x4; 2], b: f32x8) -> Sums4 {
    let b = simd.doubled(b);
    simd.add_f64s(sum, simd.add_f64s(simd.mul_f64s(a[0], b[0]), simd.mul_f64s(a[1], b[1])))
}

/// Sum of the lanes, one after the other.
#[inline(always)]
fn total(sum: Sums4) -> f64 {
    cast::<Sums4, [f64; LANES / 2]>(sum).iter().sum()
}

/// Sums of one term's products with itself and those before it, but for the side of the backlash.
#[inline(always)]
fn of_row<S: Eight, const ROW: usize>(simd: S, blocks: &[Block], all: &mut Sums) {
    let zero = simd.splat_f64s(0.0);
    let (mut square, mut right) = ([zero; TERMS], zero);
    for block in blocks {
        let weighted = simd.mul_f32s(cast(block.weight), cast(block.terms[ROW]));
        let weighted = simd.doubled(weighted);
        for column in (0..=ROW).filter(|column| *column != SIDE) {
            square[column] = add(simd, square[column], weighted, cast(block.terms[column]));
        }
        right = add(simd, right, weighted, cast(block.error));
    }
    for column in (0..=ROW).filter(|column| *column != SIDE) {
        all.square[ROW][column] = total(square[column]);
    }
    all.right[ROW] = total(right);
}

eight_fn! {
    /// Sums over all points, but for those of the side of the backlash.
    fn everything<'a>(simd, blocks: &'a [Block]) -> Sums {
        let mut all = Sums::default();
        of_row::<S, 0>(simd, blocks, &mut all);
        of_row::<S, 2>(simd, blocks, &mut all);
        of_row::<S, 3>(simd, blocks, &mut all);
        of_row::<S, 4>(simd, blocks, &mut all);
        of_row::<S, 5>(simd, blocks, &mut all);
        all
    }
}

/// What these terms leave of the errors, without its sign.
#[inline(always)]
fn residual<S: Eight>(simd: S, block: &Block, terms: &[f32x8; TERMS]) -> f32x8 {
    let term = |term: usize| simd.mul_f32s(terms[term], cast(block.terms[term]));
    let first = simd.add_f32s(simd.add_f32s(term(0), term(1)), term(2));
    let last = simd.add_f32s(simd.add_f32s(term(3), term(4)), term(5));
    simd.abs_f32s(simd.sub_f32s(cast(block.error), simd.add_f32s(first, last)))
}

eight_fn! {
    /// What these terms leave of each error, without its sign.
    fn residuals<'a>(simd, blocks: &'a [Block], terms: [f32; TERMS], out: &'a mut Vec<f32>) -> () {
        let terms = terms.map(|term| simd.splat_f32s(term));
        out.resize(blocks.len() * LANES, 0.0);
        for (block, out) in blocks.iter().zip(out.as_chunks_mut::<LANES>().0) {
            *out = cast(residual(simd, block, &terms));
        }
    }
}

eight_fn! {
    /// Sums of the side of the backlash with each term, and with the error.
    fn sides<'a>(
        simd,
        blocks: &'a [Block],
        kept: &'a mut [Lanes],
        terms: [f32; TERMS],
        keep: f32,
    ) -> [f64; TERMS + 1] {
        let terms = terms.map(|term| simd.splat_f32s(term));
        let (nothing, keep) = (simd.splat_f32s(0.0), simd.splat_f32s(keep));
        let mut sums = [simd.splat_f64s(0.0); TERMS + 1];
        for (block, kept) in blocks.iter().zip(kept) {
            let wild = simd.greater_than_f32s(residual(simd, block, &terms), keep);
            let weight = simd.select_f32s(wild, nothing, cast(block.weight));
            *kept = cast(weight);
            let weighted = simd.doubled(simd.mul_f32s(weight, cast(block.terms[SIDE])));
            for (sum, term) in sums.iter_mut().zip(&block.terms) {
                *sum = add(simd, *sum, weighted, cast(*term));
            }
            sums[TERMS] = add(simd, sums[TERMS], weighted, cast(block.error));
        }
        sums.map(total)
    }
}
