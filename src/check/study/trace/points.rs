//! The points of a trace, eight to a block, as the fit's loops want them: whole vectors of each
//! term, and no test at the end of each.
#![expect(clippy::inline_always, reason = "what is not inlined stays narrow")]

use nalgebra::{SMatrix, SVector};

use super::thinned::Trace;
use crate::num::wide::wide_fn;

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
            let values = values[at..].iter().step_by(stride);
            into.iter_mut().zip(values).for_each(|(to, value)| *to = *value);
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

/// Adds products, those of the second half to those of the first.
#[inline(always)]
fn add(sums: &mut [f64; LANES / 2], a: &Lanes, b: &Lanes) {
    for (lane, sum) in sums.iter_mut().enumerate() {
        let other = lane + LANES / 2;
        *sum += f64::from(a[lane]) * f64::from(b[lane]) + f64::from(a[other]) * f64::from(b[other]);
    }
}

/// Sum over all points of a product of three, the first two in `f32`.
#[inline(always)]
fn sum(blocks: &[Block], of: impl Fn(&Block) -> (Lanes, Lanes)) -> f64 {
    let mut sums = [0.0f64; LANES / 2];
    for block in blocks {
        let (weighted, other) = of(block);
        add(&mut sums, &weighted, &other);
    }
    sums.iter().sum()
}

#[inline(always)]
fn times(a: &Lanes, b: &Lanes) -> Lanes {
    let mut product = [0.0; LANES];
    for lane in 0..LANES {
        product[lane] = a[lane] * b[lane];
    }
    product
}

wide_fn! {
    /// Sums over all points, but for those of the side of the backlash.
    fn everything<'a>(blocks: &'a [Block]) -> Sums {
        let mut all = Sums::default();
        for row in (0..TERMS).filter(|row| *row != SIDE) {
            for column in (0..=row).filter(|column| *column != SIDE) {
                all.square[row][column] =
                    sum(blocks, |b| (times(&b.weight, &b.terms[row]), b.terms[column]));
            }
            all.right[row] = sum(blocks, |b| (times(&b.weight, &b.terms[row]), b.error));
        }
        all
    }
}

#[inline(always)]
fn residual(block: &Block, terms: &[f32; TERMS]) -> Lanes {
    let mut left = [0.0; LANES];
    for (lane, left) in left.iter_mut().enumerate() {
        let term = |term: usize| terms[term] * block.terms[term][lane];
        let fitted = term(0) + term(1) + term(2) + (term(3) + term(4) + term(5));
        *left = (block.error[lane] - fitted).abs();
    }
    left
}

wide_fn! {
    /// What these terms leave of each error, without its sign.
    fn residuals<'a>(blocks: &'a [Block], terms: [f32; TERMS], out: &'a mut Vec<f32>) {
        out.resize(blocks.len() * LANES, 0.0);
        for (block, out) in blocks.iter().zip(out.as_chunks_mut::<LANES>().0) {
            *out = residual(block, &terms);
        }
    }
}

wide_fn! {
    /// Sums of the side of the backlash with each term, and with the error.
    fn sides<'a>(
        blocks: &'a [Block],
        kept: &'a mut [Lanes],
        terms: [f32; TERMS],
        keep: f32,
    ) -> [f64; TERMS + 1] {
        let mut sums = [[0.0f64; LANES / 2]; TERMS + 1];
        for (block, kept) in blocks.iter().zip(kept) {
            let left = residual(block, &terms);
            for lane in 0..LANES {
                kept[lane] = if left[lane] > keep { 0.0 } else { block.weight[lane] };
            }
            let weighted = times(kept, &block.terms[SIDE]);
            for (sums, term) in sums.iter_mut().zip(block.terms.iter().chain([&block.error])) {
                add(sums, &weighted, term);
            }
        }
        sums.map(|lanes| lanes.iter().sum())
    }
}
