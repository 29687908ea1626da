//! The operator's motion as a whole: speed in joint space, and the stretches of motion.

use std::ops::Range;

use super::basis::Basis;
use crate::num::quantile::quantile_in_place;
use crate::num::runs::runs_where;

/// A linear joint's metre counts as this many radians: 2 mm to a degree (engineering judgement).
const RADIANS_A_METRE: f64 = std::f64::consts::PI / 180.0 / 0.002;
/// Motion begins at this share of the episode's 95th percentile of speed, as is usual in studies
/// of reaching (common practice, no source) ...
const STARTS_AT: f64 = 0.1;
/// ... but never below this: 3 degrees a second.
const SLOWEST_RAD_S: f64 = 3.0 * std::f64::consts::PI / 180.0;

/// Share of that at which its ends are.
const WIDENED_TO: f32 = 0.3;

/// Speed of all arm joints together (root of the sum of squares, grippers left out), of the leader
/// where there is one.
#[derive(Debug)]
pub struct Motion {
    /// Frames between the ends of a chord: at least four steps and 100 ms.
    pub chord: usize,
    /// Frames from one speed to the next.
    pub hop: usize,
    /// The same in seconds.
    pub hop_s: f64,
    /// Speed in rad/s over the chord that begins at frame `index * hop`.
    pub speed: Vec<f32>,
    /// Its 95th percentile.
    pub speed_p95: f64,
    /// Stretches of `speed` that are motion.
    pub segments: Vec<Range<usize>>,
    /// The joints looked at.
    pub joints: Vec<usize>,
}

impl Motion {
    /// `None` where no period is known, or the episode is shorter than two chords.
    pub(super) fn of(basis: &Basis<'_>) -> Option<Self> {
        let period_s = basis.episode.rig.period_s;
        let chord = chord(period_s)?;
        let frames = basis.episode.frames();
        if frames < 2 * chord {
            return None;
        }
        let described = basis.joints();
        let joints: Vec<usize> = (0..described.len()).filter(|j| !described[*j].gripper).collect();
        let hop = (chord / 4).max(1);
        let count = (frames - chord).div_ceil(hop);
        // Summed in double precision, so that the order of the joints does not show.
        let mut squares = vec![0.0f64; count];
        for &joint in &joints {
            let values = basis.hand(joint);
            let scale = weight(basis, joint) / (chord as f64 * period_s);
            add_squares(values, chord, hop, scale as f32, &mut squares);
        }
        let speed: Vec<f32> = squares.iter().map(|sum| sum.sqrt() as f32).collect();
        let speed_p95 = quantile_in_place(&mut speed.clone(), 0.95);
        let smallest = (STARTS_AT * speed_p95).max(SLOWEST_RAD_S) as f32;
        let segments = stretches(&speed, smallest);
        Some(Self { chord, hop, hop_s: hop as f64 * period_s, speed, speed_p95, segments, joints })
    }

    /// Stretches that last at least `least_s` and at most `most_s` seconds.
    pub fn between(&self, least_s: f64, most_s: f64) -> impl Iterator<Item = Range<usize>> + '_ {
        let length_s = |s: &Range<usize>| s.len() as f64 * self.hop_s;
        self.segments.iter().filter(move |s| (least_s..=most_s).contains(&length_s(s))).cloned()
    }

    /// Frames from the first to the last of a stretch of speeds.
    pub fn frames(&self, segment: &Range<usize>) -> Range<usize> {
        segment.start * self.hop..(segment.end - 1) * self.hop + self.chord + 1
    }
}

/// Runs faster than `smallest`, widened at both ends for as long as the speed is a third of that: a
/// stretch cut off at a step of speed would not look smooth.
fn stretches(speed: &[f32], smallest: f32) -> Vec<Range<usize>> {
    let slow = WIDENED_TO * smallest;
    let mut found: Vec<Range<usize>> = Vec::new();
    for (mut start, mut end) in runs_where(speed, |v| *v > smallest) {
        let earliest = found.last().map_or(0, |before| before.end);
        while start > earliest && speed[start - 1] > slow {
            start -= 1;
        }
        while end < speed.len() && speed[end] > slow && speed[end] <= smallest {
            end += 1;
        }
        found.push(start..end);
    }
    found
}

/// Frames between the ends of a chord: at least four steps (five samples) and 100 ms.
pub fn chord(period_s: f64) -> Option<usize> {
    let known = period_s.is_finite() && period_s > 0.0;
    known.then(|| ((0.1 / period_s).ceil() as usize).clamp(4, 100_000))
}

/// What a joint's motion counts for in joint space: its unit in radians.
pub fn weight(basis: &Basis<'_>, joint: usize) -> f64 {
    if basis.joints()[joint].linear { RADIANS_A_METRE } else { 1.0 }
}

fn add_squares(values: &[f32], chord: usize, hop: usize, scale: f32, into: &mut [f64]) {
    let squared = |a: f32, b: f32| f64::from(((b - a) * scale).powi(2));
    let ends = &values[chord..];
    if hop == 1 {
        for ((sum, a), b) in into.iter_mut().zip(values).zip(ends) {
            *sum += squared(*a, *b);
        }
    } else {
        let pairs = values.iter().step_by(hop).zip(ends.iter().step_by(hop));
        for (sum, (a, b)) in into.iter_mut().zip(pairs) {
            *sum += squared(*a, *b);
        }
    }
}
