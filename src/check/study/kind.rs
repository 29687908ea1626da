//! What kind of thing the leader's column holds: positions of a leader, or something made from
//! the follower's own.

use super::basis::Basis;
use super::following::{LEAST_MOTION_M, LEAST_MOTION_RAD};
use super::range::range;
use crate::num::copies::{Copied, copied};

/// Rows looked at in each joint.
const ROWS: usize = 512;
/// Changes that are looked for are over this long, so that a lag does not hide them.
const CHANGE_S: f64 = 0.2;

/// What the leader's column turned out to be like.
#[derive(Debug, Clone, Copy)]
pub struct Kind {
    /// Share of the rows in which the follower moved on and the action is the state of the same row,
    /// to the last bit.
    pub same: f64,
    /// The same with the state of the next row.
    pub next: f64,
    /// In which other way the action is a copy of the state, if so.
    pub copied: Option<Copied>,
    /// By how much the action's correlation with the change of the state exceeds that with the
    /// state itself: mean over the joints whose action moves far less than their state. Zero
    /// without such joints.
    pub delta_margin: f64,
}

impl Kind {
    pub(super) fn of(basis: &Basis<'_>) -> Option<Self> {
        basis.episode.action.as_ref()?;
        let frames = basis.episode.frames();
        let stride = (frames / ROWS).max(1);
        let (mut moving, mut same, mut next) = (0usize, 0usize, 0usize);
        let mut margins = Vec::new();
        for (joint, described) in basis.joints().iter().enumerate() {
            if described.gripper {
                continue;
            }
            let (state, action) = (basis.state(joint), basis.stored_action(joint)?);
            let rows = state.iter().zip(state.get(1..).unwrap_or(&[])).zip(action);
            let rows = rows.map(|((now, then), action)| (*now, *then, *action));
            // Most episodes are short enough for every row; without steps the loop is vector code.
            let found = if stride == 1 { matches(rows) } else { matches(rows.step_by(stride)) };
            moving += found[0] as usize;
            same += found[1] as usize;
            next += found[2] as usize;
            let least = if described.linear { LEAST_MOTION_M } else { LEAST_MOTION_RAD };
            let (low, high) = basis.state_range(joint);
            let (least_action, most_action) = range(action);
            if f64::from(high - low) >= least && most_action - least_action < 0.5 * (high - low) {
                let change = (CHANGE_S / basis.episode.rig.period_s).round().max(1.0) as usize;
                margins.extend(margin(state, action, change, stride));
            }
        }
        if moving < 20 {
            return None;
        }
        let share = |count: usize| count as f64 / moving as f64;
        // One joint of a wrong unit is no delta: at least half of the joints must move less.
        let arm = basis.joints().iter().filter(|joint| !joint.gripper).count();
        let mean = margins.iter().sum::<f64>() / margins.len().max(1) as f64;
        let delta_margin = if 2 * margins.len() >= arm { mean } else { 0.0 };
        let (same, next) = (share(same), share(next));
        Some(Self { same, next, copied: copied_by(basis), delta_margin })
    }

    /// Whether the action is a change of position.
    pub fn is_delta(&self) -> bool {
        self.delta_margin > 0.3
    }
}

/// Whether the action is a copy of the state, grippers left out.
fn copied_by(basis: &Basis<'_>) -> Option<Copied> {
    let arm = |joint: &usize| {
        let (low, high) = basis.state_range(*joint);
        !basis.joints()[*joint].gripper && high > low
    };
    let joints = (0..basis.joints().len()).filter(arm);
    let pair = |joint| Some((basis.state(joint), basis.stored_action(joint)?));
    copied(&joints.filter_map(pair).collect::<Vec<_>>())
}

/// In how many rows the state moves on, and in how many of them the action is the state of this
/// row, and of the next.
fn matches(rows: impl Iterator<Item = (f32, f32, f32)>) -> [u32; 3] {
    rows.fold([0; 3], |[moving, same, next], (now, then, action)| {
        let moves = u32::from(then != now);
        [
            moving + moves,
            same + (moves & u32::from(action == now)),
            next + (moves & u32::from(action == then)),
        ]
    })
}

/// |correlation| of the action with the state's change, less that with the state.
fn margin(state: &[f32], action: &[f32], change: usize, stride: usize) -> Option<f64> {
    let rows = || (0..state.len().saturating_sub(change)).step_by(stride);
    let with = |other: &dyn Fn(usize) -> f32| correlation(rows().map(|t| (action[t], other(t))));
    let to_change = with(&|t| state[t + change] - state[t])?;
    let to_state = with(&|t| state[t])?;
    Some(to_change.abs() - to_state.abs())
}

fn correlation(pairs: impl Iterator<Item = (f32, f32)> + Clone) -> Option<f64> {
    let n = pairs.clone().count() as f64;
    let (x, y) =
        pairs.clone().fold((0.0, 0.0), |(x, y), (a, b)| (x + f64::from(a), y + f64::from(b)));
    let (x, y) = (x / n, y / n);
    let (mut xx, mut yy, mut xy) = (0.0, 0.0, 0.0);
    for (a, b) in pairs {
        let (a, b) = (f64::from(a) - x, f64::from(b) - y);
        (xx, yy, xy) = (xx + a * a, yy + b * b, xy + a * b);
    }
    (xx > 0.0 && yy > 0.0).then(|| xy / (xx * yy).sqrt())
}
