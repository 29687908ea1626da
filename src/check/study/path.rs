//! The path to which increments or velocities add up: where the arm should be by its actions.
//!
//! Rates say how far to go, not where to. Their sum drifts away from the state, since a controller
//! rounds, clips and starts again from where the arm is. So the sum is drawn back to the state over
//! two seconds: over the third of a second and more in which following is looked at, it is the sum.

use crate::model::Channels;
use crate::num::explain::{Explained, explain};
use crate::num::robust::median;

/// How long it takes the state to draw the path back.
const DRAWN_S: f64 = 2.0;
/// Rates are compared with the state over windows of this length, of three frames at least.
const WINDOW_S: f64 = 0.3;
/// Lags that are looked at.
const LAGS_S: (f64, f64) = (-0.2, 0.5);
/// More of the variance left than this says nothing of the unit.
const LEFT: f64 = 0.5;
/// A factor this near to that of the declared unit is taken for it.
const NEAR: f64 = 1.7;

/// A joint's state and the rates that are stored for it.
pub(super) struct Rates<'a> {
    pub state: &'a [f32],
    pub action: &'a [f32],
    pub gripper: bool,
}

/// The paths of all joints; those of grippers, and of joints of which the unit of the rates is not
/// known, rest. Increments are of a frame, velocities of a second.
pub(super) fn paths(joints: &[Rates<'_>], increments: bool, period_s: f64) -> Channels {
    // What a stored unit adds up to in a frame.
    let unit = if increments { 1.0 } else { period_s };
    let seen: Vec<Option<f64>> =
        joints.iter().map(|joint| Some(factor(joint, period_s)? / unit)).collect();
    let of_arm = joints.iter().zip(&seen).filter(|(joint, _)| !joint.gripper);
    let known: Vec<f64> = of_arm.filter_map(|(_, factor)| *factor).collect();
    let near = |factor: f64| (1.0 / NEAR..=NEAR).contains(&factor);
    // Increments are of the state's unit by their nature; velocities where most joints show it.
    let plain = increments || (!known.is_empty() && near(median(&known)));
    let frames = joints.first().map_or(0, |joint| joint.state.len());
    let mut values = Vec::with_capacity(frames * joints.len());
    for (joint, seen) in joints.iter().zip(&seen) {
        let factor = match *seen {
            Some(factor) if !near(factor) => Some(factor),
            _ if plain => Some(1.0),
            other => other,
        };
        let factor = factor.filter(|_| !joint.gripper).unwrap_or(0.0) * unit;
        values.extend(path(joint, factor, period_s));
    }
    Channels::new(values, frames, joints.len())
}

/// The sum of a joint's rates, drawn back to the state.
fn path(joint: &Rates<'_>, factor: f64, period_s: f64) -> Vec<f32> {
    let (state, action) = (joint.state, joint.action);
    let drawn = (period_s / DRAWN_S).min(0.5);
    let mut at = f64::from(state.first().copied().unwrap_or(0.0));
    let next = |(state, action): (&f32, &f32)| {
        let now = at;
        if factor != 0.0 {
            at += factor * f64::from(*action) + drawn * (f64::from(*state) - at);
        }
        now as f32
    };
    state.iter().zip(action).map(next).collect()
}

/// Change of the state with one unit of the action's sum over frames; `None` where the state does not
/// answer.
fn factor(joint: &Rates<'_>, period_s: f64) -> Option<f64> {
    let (state, action) = (joint.state, joint.action);
    let window = ((WINDOW_S / period_s).round() as usize).max(3);
    let change: Vec<f32> =
        state.iter().zip(state.get(window..)?).map(|(now, then)| then - now).collect();
    let mut sum: f64 = action.get(..window)?.iter().map(|v| f64::from(*v)).sum();
    let sums: Vec<f32> = action
        .iter()
        .zip(&action[window..])
        .map(|(old, new)| {
            let now = sum as f32;
            sum += f64::from(*new) - f64::from(*old);
            now
        })
        .collect();
    let step = (0.01 / period_s).max(0.5);
    let lags = (LAGS_S.0 / period_s, LAGS_S.1 / period_s);
    let Explained { left, slope, .. } = explain(&sums, &change, lags, step)?;
    (left < LEFT && slope != 0.0).then(|| slope.abs().recip())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn increments_and_velocities_add_up_to_the_way_that_was_commanded() {
        let at = |t: f64| 0.5 * (1.7 * t).sin() + 0.2 * (4.1 * t).cos();
        for (rate_hz, scale) in [(10.0, 1.0), (30.0, 1.0), (100.0, 1.0), (30.0, 12.0)] {
            let time = |row: usize| row as f64 / rate_hz;
            let rows = 0..(12.0 * rate_hz) as usize;
            // 80 ms late, and away from where the sum begins.
            let state: Vec<f32> = rows.clone().map(|n| (at(time(n) - 0.08) + 0.3) as f32).collect();
            let step = |n: usize| at(time(n + 1)) - at(time(n));
            let delta: Vec<f32> = rows.clone().map(|n| step(n) as f32).collect();
            let speed: Vec<f32> =
                rows.clone().map(|n| (step(n) * rate_hz * scale) as f32).collect();
            for (action, increments) in [(&delta, true), (&speed, false)] {
                let rates = Rates { state: &state, action, gripper: false };
                let made = paths(&[rates], increments, 1.0 / rate_hz);
                let off = rows.clone().map(|n| f64::from(made.joint(0)[n]) - at(time(n)) - 0.3);
                // From the third second on, when the first place is forgotten.
                let worst = off.skip((3.0 * rate_hz) as usize).map(f64::abs).fold(0.0, f64::max);
                assert!(worst < 0.09, "{rate_hz} Hz, {increments}: {worst}");
            }
        }
    }
}
