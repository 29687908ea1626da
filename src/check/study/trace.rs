//! Leader and follower side by side with the lag taken out, thinned to some 25 points a second,
//! and the one line that is fitted through what is left between them.
//!
//! Between the two lies `e = s(t + L) - a(t)`. Four things shape it: a constant (the neutral
//! points differ), the pose (the ranges differ, or the joint sags), the side on which the play
//! rests (minus half the play times the direction of the last motion), and the speed times
//! whatever the lag is still off by. They are fitted together, since each looks like the others:
//! play makes lag seem longer, and lag makes a range seem shorter. The acceleration goes in too: a
//! servo of first order is not quite a delay. And so does the speed as time goes on, from -1 at the
//! beginning to 1 at the end: a lag that grows would else pass for play or for a wrong range.

use std::ops::Range;

use nalgebra::{SMatrix, SVector};

use crate::num::quantile::{median_in_place, quantiles_in_place};
use crate::num::robust::MAD_TO_SIGMA;

/// Points are about this far apart: what the arm does, it does at less than 10 Hz.
const POINT_S: f64 = 0.04;
/// Velocity is a chord to either side as long as this, or two samples.
const CHORD_S: f64 = 0.05;
/// Play assumed at first: enough to pass over tremor, less than the play of a worn arm. Like the
/// other lengths here in radians; a linear joint's are `unit` times as large in metres.
const FIRST_PLAY: f64 = 0.006;
/// Play below this cannot be told from the servo's own roundness: 0.11 degrees.
const LEAST_PLAY: f64 = 0.002;
/// Most play that is believed: 6 degrees.
const MOST_PLAY: f64 = 0.1;
/// A point farther from the fit than this, or than five robust standard deviations, is left out.
const LEAST_WILD: f64 = 0.004;
/// From this speed on a point counts in full: 3 degrees a second. Points at rest are many and say
/// one thing over and over.
const FULL_SPEED: f64 = 0.05;
/// Unknowns of the fit: constant, side of the play, speed, pose, acceleration, speed as time goes.
const TERMS: usize = 6;
/// Which of them is the side of the play.
const SIDE: usize = 1;
/// With so many points every second one will do.
const PLENTY: usize = 300;
/// Points that a fit needs.
const ENOUGH: usize = 20;

/// Leader and follower of one joint at some 25 points a second.
#[derive(Debug, Clone, Default)]
pub struct Trace {
    /// Seconds from point to point.
    pub step_s: f64,
    /// Grid point of each point.
    pub at: Vec<u32>,
    /// Leader's position.
    pub leader: Vec<f32>,
    /// Follower, the lag taken out, minus leader.
    pub error: Vec<f32>,
    /// Leader's velocity in its unit per second.
    pub speed: Vec<f32>,
    /// Leader's acceleration in its unit per second squared.
    pub bend: Vec<f32>,
    /// Which side the play rests on: 1 after a motion upward, -1 after one downward.
    pub side: Vec<f32>,
    /// Stretches of points without a gap.
    pub segments: Vec<Range<usize>>,
}

/// What the fit says of a joint.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fit {
    /// Follower minus leader where the leader is at `pose`.
    pub offset: f64,
    /// The pose nearest to nought that the leader reached.
    pub pose: f64,
    /// Change of the follower with one unit of the leader, minus one.
    pub gain: f64,
    /// Play from stop to stop.
    pub play: f64,
    /// Change with the leader's acceleration, in seconds squared.
    pub bend: f64,
    /// What the lag must be made longer by, in seconds.
    pub lag_more_s: f64,
    /// Robust standard deviation of what the fit leaves.
    pub left: f64,
    /// Range of the leader, 5th to 95th percentile.
    pub range: f64,
    /// Points fitted.
    pub points: usize,
    /// How often the play was crossed from one side to the other.
    pub turns: usize,
}

impl Trace {
    /// Thins the two signals, with the lag in samples taken out of the follower.
    pub(super) fn of(
        follower: &[f32],
        leader: &[f32],
        segments: &[Range<usize>],
        step_s: f64,
        lag: f64,
    ) -> Self {
        let stride = ((POINT_S / step_s) as usize).max(1);
        let arm = ((CHORD_S / step_s).ceil() as usize).max(2);
        let scale = (1.0 / (2.0 * arm as f64 * step_s)) as f32;
        let (whole, part) = (lag.floor() as isize, (lag - lag.floor()) as f32);
        let mut trace = Self { step_s: stride as f64 * step_s, ..Self::default() };
        for segment in segments {
            let first = trace.at.len();
            let low = segment.start as isize + (arm as isize).max(-whole);
            let high = segment.end as isize - (arm as isize).max(whole + 1);
            if low >= high {
                continue;
            }
            let (low, span) = (low as usize, (high - low) as usize);
            let late = (low as isize + whole) as usize;
            let thin = |values: std::ops::Range<usize>| values.step_by(stride);
            trace.at.extend(thin(low..low + span).map(|t| t as u32));
            let now = &leader[low..low + span];
            let (before, after) = (&leader[low - arm..], &leader[low + arm..low + arm + span]);
            let (s0, s1) = (&follower[late..late + span], &follower[late + 1..=late + span]);
            trace.leader.extend(now.iter().step_by(stride));
            trace.error.extend(thin(0..span).map(|t| s0[t] + part * (s1[t] - s0[t]) - now[t]));
            trace.speed.extend(thin(0..span).map(|t| (after[t] - before[t]) * scale));
            trace.bend.extend(
                thin(0..span)
                    .map(|t| (after[t] - 2.0 * now[t] + before[t]) * (4.0 * scale * scale)),
            );
            if trace.at.len() > first {
                trace.segments.push(first..trace.at.len());
            }
        }
        trace
    }

    /// Walks a joint with so much play along the leader.
    fn rest(&mut self, play: f64) {
        let half = (0.5 * play) as f32;
        let whole = 1.0 / half;
        self.side.clear();
        for segment in &self.segments {
            let leader = &self.leader[segment.clone()];
            let mut output = leader.first().copied().unwrap_or(0.0);
            self.side.extend(leader.iter().map(|a| {
                let (low, high) = (a - half, a + half);
                output = if output < low { low } else { output };
                output = if output > high { high } else { output };
                (a - output) * whole
            }));
        }
    }

    /// Fits constant, pose, play and the rest of the lag. `unit` is a radian's worth: 1, or in
    /// metres for a linear joint. `None` with too few points, or where they do not tell these
    /// apart.
    pub(super) fn fit(&mut self, unit: f64, scratch: &mut Vec<f32>) -> Option<Fit> {
        if self.at.len() < ENOUGH {
            return None;
        }
        scratch.clear();
        scratch.extend_from_slice(&self.leader);
        let [low, high] = quantiles_in_place(scratch, [0.05, 0.95]);
        let pose = 0f64.clamp(low, high);
        let mut play = FIRST_PLAY * unit;
        let mut keep = f64::INFINITY;
        let mut terms = [0.0; TERMS];
        let mut left = 0.0;
        let mut points = 0;
        self.rest(play);
        let all = self.sums(pose as f32, unit);
        for round in 0..3 {
            if round > 0 {
                self.rest(play);
            }
            (terms, points) = self.solve(pose as f32, unit, &all, &terms, keep as f32)?;
            if round < 2 {
                play = (-2.0 * terms[1]).clamp(0.25 * FIRST_PLAY * unit, MOST_PLAY * unit);
                self.residuals(pose as f32, &terms, scratch);
                left = MAD_TO_SIGMA * median_in_place(scratch);
                keep = (5.0 * left).max(LEAST_WILD * unit);
            }
        }
        let play = -2.0 * terms[1];
        // Play explains nearly all that was left, or it is not play: a stop, a contact, a trip.
        let believed = play > (LEAST_PLAY * unit).max(2.0 * left) && play < MOST_PLAY * unit;
        let lag_more_s = if believed { -0.5 * play * self.side_per_speed() } else { 0.0 };
        Some(Fit {
            offset: terms[0],
            pose,
            gain: terms[3],
            play,
            bend: terms[4],
            lag_more_s,
            left,
            range: high - low,
            points,
            turns: self.turns(),
        })
    }

    /// How often the side of the play changed.
    fn turns(&self) -> usize {
        let mut last = None;
        let settled = self.side.iter().filter(|side| side.abs() > 0.95);
        settled
            .filter(|side| last.replace(side.signum()).is_some_and(|l| l != side.signum()))
            .count()
    }

    /// By how much the side of the play goes with the speed: what play adds to a lag, which was
    /// chosen so that nothing between the two goes with the speed.
    fn side_per_speed(&self) -> f64 {
        let n = self.side.len() as f64;
        let mean = |values: &[f32]| values.iter().map(|v| f64::from(*v)).sum::<f64>() / n;
        let (h, v) = (mean(&self.side), mean(&self.speed));
        let pairs = self.side.iter().zip(&self.speed);
        let (both, square) = pairs.fold((0.0, 0.0), |(both, square), (side, speed)| {
            let off = f64::from(*speed) - v;
            (both + (f64::from(*side) - h) * off, square + off * off)
        });
        if square > 0.0 { both / square } else { 0.0 }
    }

    /// Of many points every second one is fitted: neighbours say nearly the same.
    fn thin(&self) -> usize {
        if self.at.len() < PLENTY { 1 } else { 2 }
    }

    /// Error of the points, and what it is fitted by.
    fn points(&self, pose: f32) -> impl Iterator<Item = (f32, [f32; TERMS])> {
        let ends = self.at.first().zip(self.at.last());
        let (first, last) = ends.map_or((0.0, 1.0), |(a, b)| (*a as f32, *b as f32));
        let middle = 0.5 * (first + last);
        let scale = 2.0 / (last - first).max(1.0);
        let motion = self.speed.iter().zip(&self.bend).zip(&self.leader).zip(&self.side);
        let points = self.error.iter().zip(motion).zip(&self.at);
        points.step_by(self.thin()).map(move |((error, (((speed, bend), leader), side)), at)| {
            let way = (*at as f32 - middle) * scale;
            (*error, [1.0, *side, *speed, leader - pose, *bend, way * speed])
        })
    }

    fn residuals(&self, pose: f32, terms: &[f64; TERMS], out: &mut Vec<f32>) {
        let terms = terms.map(|t| t as f32);
        out.clear();
        out.extend(self.points(pose).map(|(error, x)| (error - dot(&terms, &x)).abs()));
    }

    /// Sums over all points of everything but the side of the play, which alone changes from round
    /// to round.
    fn sums(&self, pose: f32, unit: f64) -> Sums {
        let slowness = (1.0 / (FULL_SPEED * unit)) as f32;
        let mut sums = Sums::default();
        for (error, x) in self.points(pose) {
            sums.add(weight(x[2], slowness), error, &x, 1.0);
        }
        sums
    }

    /// Least squares over the points that the last solution left within `keep`.
    fn solve(
        &self,
        pose: f32,
        unit: f64,
        all: &Sums,
        last: &[f64; TERMS],
        keep: f32,
    ) -> Option<([f64; TERMS], usize)> {
        let last = last.map(|t| t as f32);
        let slowness = (1.0 / (FULL_SPEED * unit)) as f32;
        let mut sums = all.clone();
        let mut points = self.at.len().div_ceil(self.thin());
        let mut side = [0.0f64; TERMS + 1];
        for (error, x) in self.points(pose) {
            let weight = weight(x[2], slowness);
            if (error - dot(&last, &x)).abs() > keep {
                points -= 1;
                sums.add(weight, error, &x, -1.0);
                continue;
            }
            let weighted = f64::from(weight * x[SIDE]);
            for (sum, x) in side.iter_mut().zip(x) {
                *sum += weighted * f64::from(x);
            }
            side[TERMS] += weighted * f64::from(error);
        }
        if points < ENOUGH {
            return None;
        }
        for (term, sum) in side[..TERMS].iter().enumerate() {
            sums.square[term.max(SIDE)][term.min(SIDE)] = *sum;
        }
        sums.right[SIDE] = side[TERMS];
        // What the points say next to nothing of stays next to nought. On a pure sine the
        // acceleration is the pose over again; there all of it is given to the pose.
        let (n, square) = (points as f64, points as f64 * unit * unit);
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
    /// Adds a point so many times, the side of the play left out.
    fn add(&mut self, weight: f32, error: f32, x: &[f32; TERMS], times: f64) {
        let wide = x.map(f64::from);
        for row in 0..TERMS {
            let weighted = times * f64::from(weight * x[row]);
            for (sum, x) in self.square[row][..=row].iter_mut().zip(wide) {
                *sum += weighted * x;
            }
            self.right[row] += weighted * f64::from(error);
        }
    }
}

/// What a point of this speed counts for.
fn weight(speed: f32, slowness: f32) -> f32 {
    (speed.abs() * slowness).min(1.0) + 0.02
}

fn dot(x: &[f32; TERMS], y: &[f32; TERMS]) -> f32 {
    let first = x[0] * y[0] + x[1] * y[1] + x[2] * y[2];
    first + x[3] * y[3] + x[4] * y[4] + x[5] * y[5]
}
