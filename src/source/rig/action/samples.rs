//! What the actions of the surveyed episodes are: declared, else recognised.

use crate::model::{ActionKind, Actions, Joint, KnownBy, SignalKind};
use crate::source::rig::action::take::Take;
use crate::source::rig::action::votes::{held, recognise};
use crate::source::rig::scale::Scale;
use crate::source::rig::survey::Sample;

/// A linear joint's metre counts as this many radians: 2 mm to a degree (engineering judgement).
const RADIANS_A_METRE: f64 = std::f64::consts::PI / 180.0 / 0.002;

/// What the actions are; `scales` turn stored values into radians and metres.
pub(in crate::source) fn actions(
    declared: Option<ActionKind>,
    joints: &[Joint],
    scales: &[Scale],
    samples: &[Sample],
    period_s: f64,
) -> Actions {
    // Turns are stored in numbers that jump; the places say what the actions are.
    let turns = joints.iter().all(|joint| joint.kind() == SignalKind::Orientation);
    let moves = |joint: &Joint| {
        let kind = joint.kind();
        kind.moves() && !joint.gripper && (turns || kind != SignalKind::Orientation)
    };
    let arm = || joints.iter().zip(scales).enumerate().filter(|(_, (joint, _))| moves(joint));
    let take = |sample| {
        let joint = move |(n, (joint, scale)): (usize, (&Joint, &Scale))| {
            let unit = if joint.linear { RADIANS_A_METRE } else { 1.0 };
            (Sample::joint(sample, n), Sample::action(sample, n), unit * scale.factor)
        };
        Take::of(arm().map(joint))
    };
    let takes = || samples.iter().map(take).collect::<Vec<_>>();
    match declared {
        // How long a hold is, nobody has to know by heart.
        Some(ActionKind::Held { .. }) => {
            let frames = held(&takes(), period_s).unwrap_or(1);
            Actions { kind: ActionKind::Held { frames }, by: KnownBy::Declared }
        }
        Some(kind) => Actions { kind, by: KnownBy::Declared },
        None => recognise(&takes(), period_s),
    }
}
