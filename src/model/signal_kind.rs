//! What a dimension of the table measures: before a number is judged, it is known what it is.

use serde::{Deserialize, Serialize};

/// The kind of one dimension of state and action.
#[derive(
    Debug, Clone, Copy, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize,
)]
#[serde(rename_all = "snake_case")]
pub enum SignalKind {
    /// A joint that turns between two ends: radians.
    #[default]
    Revolute,
    /// A joint that turns without end: radians, unwrapped.
    Continuous,
    /// A joint that slides: metres.
    Prismatic,
    /// A gripper that may rest anywhere between open and closed.
    GripperContinuous,
    /// A gripper that is open or closed.
    GripperDiscrete,
    /// One coordinate of a place: metres.
    Position,
    /// One coordinate of a rotation about the reference of its group: radians.
    Orientation,
    /// A speed: rad/s or m/s.
    Velocity,
    /// Effort, current, temperature or voltage, as stored.
    Effort,
    /// A button, a mode, a flag: few values.
    Discrete,
    /// A number that counts up.
    Counter,
    /// A value that never changes in state or action.
    Constant,
}

impl SignalKind {
    /// Every kind: for checks that look at the clock, or at whether there are numbers.
    pub const ALL: &'static [Self] = &[
        Self::Revolute,
        Self::Continuous,
        Self::Prismatic,
        Self::GripperContinuous,
        Self::GripperDiscrete,
        Self::Position,
        Self::Orientation,
        Self::Velocity,
        Self::Effort,
        Self::Discrete,
        Self::Counter,
        Self::Constant,
    ];
    /// Joints of an arm with its gripper.
    pub const JOINTS: &'static [Self] =
        &[Self::Revolute, Self::Continuous, Self::Prismatic, Self::GripperContinuous];
    /// Joints that have ends of travel.
    pub const BOUNDED: &'static [Self] =
        &[Self::Revolute, Self::Prismatic, Self::GripperContinuous];
    /// Joints and poses: whatever moves without jumps.
    pub const MOVING: &'static [Self] = &[
        Self::Revolute,
        Self::Continuous,
        Self::Prismatic,
        Self::GripperContinuous,
        Self::Position,
        Self::Orientation,
    ];
    /// Joints and places: what moves along one axis.
    pub const AXES: &'static [Self] = &[
        Self::Revolute,
        Self::Continuous,
        Self::Prismatic,
        Self::GripperContinuous,
        Self::Position,
    ];
    /// Rotations alone.
    pub const ORIENTATION: &'static [Self] = &[Self::Orientation];
    /// Whatever may vary: all but what never changes.
    pub const VARYING: &'static [Self] = &[
        Self::Revolute,
        Self::Continuous,
        Self::Prismatic,
        Self::GripperContinuous,
        Self::GripperDiscrete,
        Self::Position,
        Self::Orientation,
        Self::Velocity,
        Self::Effort,
        Self::Discrete,
    ];

    /// The kind in words, as a profile and JSON write it.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Revolute => "revolute",
            Self::Continuous => "continuous",
            Self::Prismatic => "prismatic",
            Self::GripperContinuous => "gripper",
            Self::GripperDiscrete => "discrete_gripper",
            Self::Position => "position",
            Self::Orientation => "orientation",
            Self::Velocity => "velocity",
            Self::Effort => "effort",
            Self::Discrete => "discrete",
            Self::Counter => "counter",
            Self::Constant => "constant",
        }
    }

    /// The kind with its article, for sentences.
    pub const fn phrase(self) -> &'static str {
        match self {
            Self::Revolute => "a revolute joint",
            Self::Continuous => "a continuous joint",
            Self::Prismatic => "a linear joint",
            Self::GripperContinuous => "a gripper",
            Self::GripperDiscrete => "an open-or-closed gripper",
            Self::Position => "a position",
            Self::Orientation => "an orientation",
            Self::Velocity => "a velocity",
            Self::Effort => "an effort",
            Self::Discrete => "a discrete signal",
            Self::Counter => "a counter",
            Self::Constant => "constant",
        }
    }

    /// The kind of this word.
    pub fn named(word: &str) -> Option<Self> {
        Self::ALL.iter().copied().find(|kind| kind.word() == word)
    }

    /// Whether it moves along a path without jumps.
    pub fn moves(self) -> bool {
        Self::MOVING.contains(&self)
    }

    /// Whether it opens and closes.
    pub const fn grips(self) -> bool {
        matches!(self, Self::GripperContinuous | Self::GripperDiscrete)
    }
}

#[cfg(test)]
mod tests {
    use super::SignalKind;

    #[test]
    fn every_word_names_its_kind() {
        for kind in SignalKind::ALL {
            assert_eq!(SignalKind::named(kind.word()), Some(*kind));
        }
        assert_eq!(SignalKind::named("magnetism"), None);
        assert_eq!(SignalKind::ALL.len(), 12);
    }

    #[test]
    fn what_never_changes_or_only_counts_does_not_vary() {
        let out = |kind: &&SignalKind| !SignalKind::VARYING.contains(kind);
        let out: Vec<SignalKind> = SignalKind::ALL.iter().filter(out).copied().collect();
        assert_eq!(out, [SignalKind::Counter, SignalKind::Constant]);
    }
}
