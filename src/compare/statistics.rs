//! What training normalises by: mean, standard deviation and ends of each dimension of the action (of the state
//! where there is no action). They follow from the rig and from what was done, so they say how far a
//! policy's numbers shift and not what to repair.

use super::aspect::Aspect;
use super::row::{Draft, Sample};
use super::scalar::{draft, too_few};
use super::side::{Pair, Side};
use super::workspace::put_shares;
use crate::model::{LEADER_POSES, Moments, Motion, POSES};
use crate::num::twosample::mann_whitney;

/// A dimension with a smaller standard deviation does not move: half a degree, one millimetre.
const STILL: f64 = 0.5 * std::f64::consts::PI / 180.0;

/// Moments of a joint's dimension in one episode.
fn moments(motion: &Motion<'_>, joint: usize, leader: bool) -> Moments {
    motion.moments[joint + if leader { motion.joints } else { 0 }]
}

/// A joint's dimension in every episode of a side: row and moments.
fn all(side: &Side, joint: usize, leader: bool) -> Vec<(usize, Moments)> {
    let of = |row: usize| {
        let motion = side.ledger.motion(row).filter(|m| !leader || m.has_leader())?;
        let moments = moments(&motion, joint, leader);
        moments.mean.is_finite().then_some((row, moments))
    };
    side.rows().into_iter().filter_map(of).collect()
}

/// Standard deviation over all frames of a side's episodes, each counted by its frames.
fn std(side: &Side, all: &[(usize, Moments)]) -> f64 {
    let weight = |row: usize| f64::from(side.ledger.frames()[row]);
    let frames: f64 = all.iter().map(|(row, _)| weight(*row)).sum();
    let mean = all.iter().map(|(row, m)| weight(*row) * f64::from(m.mean)).sum::<f64>() / frames;
    let square = |m: &Moments| f64::from(m.std).powi(2) + (f64::from(m.mean) - mean).powi(2);
    (all.iter().map(|(row, m)| weight(*row) * square(m)).sum::<f64>() / frames).sqrt()
}

/// Standard deviation of the action of one joint in a side; of its state where there is no action.
pub(super) fn action_std(side: &Side, joint: usize) -> Option<f64> {
    let all = all(side, joint, side.leader);
    let std = std(side, &all);
    (!all.is_empty() && std.is_finite() && std > 0.0).then_some(std)
}

/// Root mean square of the action's speed of one joint in a side, radians a second.
pub(super) fn action_speed(side: &Side, joint: usize) -> Option<f64> {
    let (mut squares, mut steps) = (0.0, 0.0);
    for row in side.rows() {
        let Some(motion) = side.ledger.motion(row) else { continue };
        let step_s = side.ledger.duration_s()[row] / (POSES - 1) as f64;
        if step_s <= 0.0 {
            continue;
        }
        // The follower's poses lie three times as close, and it goes where the leader went.
        for at in 1..POSES {
            let moved = f64::from(motion.follower(joint, at) - motion.follower(joint, at - 1));
            if moved.is_finite() {
                squares += (moved / step_s).powi(2);
                steps += 1.0;
            }
        }
    }
    (steps > 0.0).then(|| (squares / steps).sqrt())
}

/// Compares mean, standard deviation and ends of every joint's dimension.
pub(super) fn statistics(a: &Side, b: &Side, pairs: &[Pair]) -> Vec<Draft> {
    let leader = a.leader && b.leader;
    let mut drafts = Vec::new();
    for (at, pair) in pairs.iter().enumerate() {
        let (in_a, in_b) = (all(a, pair.a, leader), all(b, pair.b, leader));
        if in_a.is_empty() || in_b.is_empty() {
            continue;
        }
        let (sigma_a, sigma_b) = (std(a, &in_a), std(b, &in_b));
        let still = STILL * if pair.linear { super::aspect::METRES_A_RADIAN } else { 1.0 };
        if sigma_a < still || sigma_b < still {
            let limits = Aspect::Std.limits(0.0, pair.linear);
            let mut none = Draft::empty(Aspect::Std, Some(at), limits);
            none.row.values = Some((sigma_a, sigma_b));
            none.row.episodes = (in_a.len(), in_b.len());
            // Both at rest: nothing to distinguish.
            none.within = sigma_a < still && sigma_b < still;
            drafts.push(
                none.noted("hardly moves, so its standard deviation is not usable as a scale"),
            );
            continue;
        }
        let of = |all: &[(usize, Moments)], value: &dyn Fn(&Moments) -> f64| -> Vec<(usize, f64)> {
            all.iter().map(|(row, m)| (*row, value(m))).collect()
        };
        let mean = |m: &Moments| f64::from(m.mean) / sigma_a;
        let samples: Sample = (of(&in_a, &mean), of(&in_b, &mean));
        drafts.push(draft(Aspect::Mean, Some((at, pair)), vec![samples], 0.0));
        let std_of = |m: &Moments| f64::from(m.std);
        let samples: Sample = (of(&in_a, &std_of), of(&in_b, &std_of));
        let mut stds = draft(Aspect::Std, Some((at, pair)), vec![samples], 0.0);
        stds.row.values = Some((sigma_a, sigma_b));
        drafts.push(stds);
        drafts.push(clip((a, &in_a), (b, &in_b), (at, pair), leader));
    }
    drafts
}

/// Share of a side's values beyond the ends of the other's: what a scale from end to end cuts off.
fn clip(
    (a, in_a): (&Side, &[(usize, Moments)]),
    (b, in_b): (&Side, &[(usize, Moments)]),
    (at, pair): (usize, &Pair),
    leader: bool,
) -> Draft {
    let limits = Aspect::Clip.limits(0.0, pair.linear);
    let mut draft = Draft::empty(Aspect::Clip, Some(at), limits);
    draft.row.episodes = (in_a.len(), in_b.len());
    let (m, n) = draft.row.episodes;
    if m.min(n) < 3 {
        return draft.noted(too_few(m, n));
    }
    let (ends_a, ends_b) = (Ends::of(in_a), Ends::of(in_b));
    // Each side's own episodes beyond the rest of it show what chance alone gives.
    let beyond_a = shares(b, in_b, pair.b, leader, &|_| ends_a.all());
    let beyond_b = shares(a, in_a, pair.a, leader, &|_| ends_b.all());
    let own_a = shares(a, in_a, pair.a, leader, &|at| ends_a.without(at));
    let own_b = shares(b, in_b, pair.b, leader, &|at| ends_b.without(at));
    let p = |other: &[f64], own: &[f64]| mann_whitney(other, own).p_greater;
    let p_value = (2.0 * p(&beyond_a, &own_a).min(p(&beyond_b, &own_b))).min(1.0);
    // Values that all tie have no order: then nothing lies beyond.
    draft.row.p_value = Some(if p_value.is_finite() { p_value } else { 1.0 });
    put_shares(&mut draft, &[beyond_b, beyond_a], limits.warn);
    draft
}

/// Share of each episode's poses beyond what `ends` says for it.
fn shares(
    side: &Side,
    all: &[(usize, Moments)],
    joint: usize,
    leader: bool,
    ends: &dyn Fn(usize) -> (f32, f32),
) -> Vec<f64> {
    let of = |(at, (row, _)): (usize, &(usize, Moments))| {
        let motion = side.ledger.motion(*row)?;
        let (low, high) = ends(at);
        let poses = if leader { LEADER_POSES } else { POSES };
        let value = |at| if leader { motion.leader(joint, at) } else { motion.follower(joint, at) };
        let beyond = (0..poses).map(value).filter(|v| *v < low || *v > high).count();
        Some(beyond as f64 / poses as f64)
    };
    all.iter().enumerate().filter_map(of).collect()
}

/// The two minimum and two maximum values of a side's episodes, so that any one can be left out.
struct Ends {
    low: [(f32, usize); 2],
    high: [(f32, usize); 2],
}

impl Ends {
    fn of(all: &[(usize, Moments)]) -> Self {
        let mut ends = Self {
            low: [(f32::INFINITY, usize::MAX); 2],
            high: [(f32::NEG_INFINITY, usize::MAX); 2],
        };
        for (at, (_, moments)) in all.iter().enumerate() {
            if moments.min < ends.low[0].0 {
                ends.low = [(moments.min, at), ends.low[0]];
            } else if moments.min < ends.low[1].0 {
                ends.low[1] = (moments.min, at);
            }
            if moments.max > ends.high[0].0 {
                ends.high = [(moments.max, at), ends.high[0]];
            } else if moments.max > ends.high[1].0 {
                ends.high[1] = (moments.max, at);
            }
        }
        ends
    }

    fn all(&self) -> (f32, f32) {
        (self.low[0].0, self.high[0].0)
    }

    fn without(&self, at: usize) -> (f32, f32) {
        let pick = |two: &[(f32, usize); 2]| two[usize::from(two[0].1 == at)].0;
        (pick(&self.low), pick(&self.high))
    }
}
