//! Leader and follower side by side with the lag taken out, thinned to some 25 points a second,
//! and the one line that is fitted through what is left between them.
//!
//! Between the two lies `e = s(t + L) - a(t)`. Four things shape it: a constant (the neutral
//! points differ), the pose (the ranges differ, or the joint sags), the side on which the backlash
//! rests (minus half the backlash times the direction of the last motion), and the speed times
//! whatever the lag is still off by. They are fitted together, since each looks like the others:
//! backlash makes lag seem longer, and lag makes a range seem shorter. The acceleration goes in too: a
//! servo of first order is not quite a delay. And so does the speed as time goes on, from -1 at the
//! beginning to 1 at the end: a lag that grows would else pass for backlash or for a wrong range.

mod holds;
mod points;
mod sag;
mod thinned;

use std::ops::Range;

use crate::num::quantile::{median_in_place, quantiles_in_place};
use crate::num::robust::MAD_TO_SIGMA;
pub use holds::Hold;
use points::{ENOUGH, Points, TERMS};
pub use sag::Sag;
pub use thinned::Trace;

/// Points are about this far apart: what the arm does, it does at less than 10 Hz.
const POINT_S: f64 = 0.04;
/// Velocity is a chord to either side as long as this, or two samples.
const CHORD_S: f64 = 0.05;
/// Backlash assumed at first: enough to pass over tremor, less than the backlash of a worn arm. Like the
/// other lengths here in radians; a linear joint's are `unit` times as large in metres.
const FIRST_PLAY: f64 = 0.006;
/// Backlash below this cannot be distinguished from the servo's own roundness: 0.11 degrees.
const LEAST_PLAY: f64 = 0.002;
/// Most backlash that is believed: 6 degrees.
const MOST_PLAY: f64 = 0.1;
/// An error in the middle of the poses, or a change of it over them, that sag may explain: 1.5 degrees.
const LEAST_OFF: f64 = 0.026;
/// A point farther from the fit than this, or than five robust standard deviations, is left out.
const LEAST_WILD: f64 = 0.004;

/// What the fit says of a joint.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fit {
    /// Follower minus leader where the leader is at `pose`.
    pub offset: f64,
    /// The pose nearest to zero that the leader reached.
    pub pose: f64,
    /// Change of the follower with one unit of the leader, minus one.
    pub gain: f64,
    /// Backlash from stop to stop.
    pub play: f64,
    /// Change with the leader's acceleration, in seconds squared.
    pub bend: f64,
    /// What the lag must be made longer by, in seconds.
    pub lag_more_s: f64,
    /// Robust standard deviation of what the fit leaves.
    pub left: f64,
    /// Range of the leader, 5th to 95th percentile.
    pub range: f64,
    /// The 5th percentile.
    pub low: f64,
    /// The 95th percentile.
    pub high: f64,
    /// Points fitted.
    pub points: usize,
    /// How often the backlash was crossed from one side to the other.
    pub turns: usize,
    /// How the joint sags, where the pose's own curve shows that it does.
    pub sag: Option<Sag>,
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
            trace.at.extend((low..low + span).step_by(stride).map(|t| t as u32));
            let now = &leader[low..low + span];
            let (before, after) = (&leader[low - arm..], &leader[low + arm..low + arm + span]);
            let (s0, s1) = (&follower[late..late + span], &follower[late + 1..=late + span]);
            let pairs = s0.iter().zip(s1).zip(now);
            thin(pairs.map(|((s0, s1), a)| s0 + part * (s1 - s0) - a), stride, &mut trace.error);
            thin(now.iter().copied(), stride, &mut trace.leader);
            let chord = before.iter().zip(after);
            let speed = chord.clone().map(|(before, after)| (after - before) * scale);
            thin(speed, stride, &mut trace.speed);
            let square = 4.0 * scale * scale;
            let bend =
                chord.zip(now).map(|((before, after), a)| (after - 2.0 * a + before) * square);
            thin(bend, stride, &mut trace.bend);
            if trace.at.len() > first {
                trace.segments.push(first..trace.at.len());
            }
        }
        trace
    }

    /// Walks a joint with so much backlash along the leader.
    fn rest(&mut self, play: f64) {
        let half = (0.5 * play) as f32;
        let whole = 1.0 / half;
        self.side.clear();
        for segment in &self.segments {
            let leader = &self.leader[segment.clone()];
            let mut output = leader.first().copied().unwrap_or(0.0);
            let first = self.side.len();
            self.side.extend(leader.iter().map(|a| {
                let (low, high) = (a - half, a + half);
                output = if output < low { low } else { output };
                output = if output > high { high } else { output };
                output
            }));
            // Apart from what needs the point before: this is vector code.
            for (side, a) in self.side[first..].iter_mut().zip(leader) {
                *side = (a - *side) * whole;
            }
        }
    }

    /// Fits constant, pose, backlash and the rest of the lag. `unit` is a radian's worth: 1, or in
    /// metres for a linear joint; one that is `turning` may sag. `None` with too few points, or where
    /// they do not tell these apart.
    pub(super) fn fit(&mut self, unit: f64, turning: bool, scratch: &mut Vec<f32>) -> Option<Fit> {
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
        let mut fitted = Points::of(self, pose as f32, unit);
        for round in 0..3 {
            self.rest(play);
            fitted.rest(&self.side);
            (terms, points) = fitted.solve(&terms, keep as f32)?;
            if round < 2 {
                play = (-2.0 * terms[1]).clamp(0.25 * FIRST_PLAY * unit, MOST_PLAY * unit);
                fitted.residuals(&terms, scratch);
                left = MAD_TO_SIGMA * median_in_place(scratch);
                keep = (5.0 * left).max(LEAST_WILD * unit);
            }
        }
        let play = -2.0 * terms[1];
        // Backlash explains nearly all that was left, or it is not backlash: a stop, a contact, a trip.
        let believed = play > (LEAST_PLAY * unit).max(2.0 * left) && play < MOST_PLAY * unit;
        let lag_more_s = if believed { -0.5 * play * self.side_per_speed() } else { 0.0 };
        let middle = 0.5 * (low + high);
        let error = terms[0] + terms[3] * (middle - pose);
        let off = error.abs().max((terms[3] * (high - low)).abs());
        let sag = if turning && off > LEAST_OFF { Sag::of(self, low, high, error) } else { None };
        Some(Fit {
            offset: terms[0],
            pose,
            gain: terms[3],
            play,
            bend: terms[4],
            lag_more_s,
            left,
            range: high - low,
            low,
            high,
            points,
            turns: self.turns(),
            sag,
        })
    }

    /// How often the side of the backlash changed.
    fn turns(&self) -> usize {
        /// From here on the backlash rests on a side.
        const SETTLED: f32 = 0.95;
        let mut turns = 0;
        let Some(first) = self.side.iter().position(|side| side.abs() > SETTLED) else { return 0 };
        let (mut at, mut up) = (first, self.side[first] > 0.0);
        // From each side to the next place on the other one.
        loop {
            let mut from_here = self.side[at..].iter();
            let next = if up {
                from_here.position(|side| *side < -SETTLED)
            } else {
                from_here.position(|side| *side > SETTLED)
            };
            let Some(next) = next else { return turns };
            (at, up, turns) = (at + next, !up, turns + 1);
        }
    }

    /// By how much the side of the backlash goes with the speed: what backlash adds to a lag, which was
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
}

/// Appends every so many of these; where it is each of them, the compiler knows.
fn thin(values: impl Iterator<Item = f32>, stride: usize, out: &mut Vec<f32>) {
    if stride == 1 {
        out.extend(values);
    } else {
        out.extend(values.step_by(stride));
    }
}
