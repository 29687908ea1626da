//! The path to which increments or velocities add up: where the arm should be by its actions.
//!
//! Rates say how far to go, not where to. Their sum drifts away from the state, since a controller
//! rounds, clips and starts anew from where the arm is. So the sum is drawn back to the state over
//! two seconds: over the third of a second and more in which following is looked at, it is the sum.

use super::basis::Basis;
use crate::model::{ActionKind, Channels};
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

/// The paths of all joints; those of grippers, and of joints of which the unit of the rates is not
/// known, rest. `None` without a period or an action.
pub(super) fn paths(basis: &Basis<'_>) -> Option<Channels> {
    let period_s = basis.period_s()?;
    basis.episode.action.as_ref()?;
    let joints = basis.joints().len();
    // What a stored unit adds up to in a frame.
    let unit = if basis.kind_of_action() == ActionKind::Velocity { period_s } else { 1.0 };
    let seen: Vec<Option<f64>> =
        (0..joints).map(|joint| factor(basis, joint, period_s).map(|f| f / unit)).collect();
    let arm = |joint: &usize| !basis.joints()[*joint].gripper;
    let known: Vec<f64> = (0..joints).filter(arm).filter_map(|joint| seen[joint]).collect();
    let near = |factor: f64| (1.0 / NEAR..=NEAR).contains(&factor);
    // Increments are of the state's unit by their nature; velocities where most joints show it.
    let plain =
        basis.kind_of_action() == ActionKind::Delta || (!known.is_empty() && near(median(&known)));
    let (frames, mut values) = (basis.episode.frames(), Vec::new());
    for joint in 0..joints {
        let factor = match seen[joint] {
            Some(factor) if !near(factor) => Some(factor),
            _ if plain => Some(1.0),
            other => other,
        };
        let factor = factor.filter(|_| arm(&joint)).unwrap_or(0.0) * unit;
        values.extend(path(basis, joint, factor, period_s));
    }
    Some(Channels::new(values, frames, joints))
}

/// The sum of a joint's rates, drawn back to the state.
fn path(basis: &Basis<'_>, joint: usize, factor: f64, period_s: f64) -> Vec<f32> {
    let (state, action) = (basis.state(joint), basis.stored_action(joint).unwrap_or(&[]));
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
fn factor(basis: &Basis<'_>, joint: usize, period_s: f64) -> Option<f64> {
    let (state, action) = (basis.state(joint), basis.stored_action(joint)?);
    let window = ((WINDOW_S / period_s).round() as usize).max(3);
    let change: Vec<f32> =
        state.iter().zip(state.get(window..)?).map(|(now, then)| then - now).collect();
    let mut sum: f64 = action[..window].iter().map(|v| f64::from(*v)).sum();
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
