//! What an action is, in relation to the state, and what a check may ask of it.

use serde::{Deserialize, Serialize};

use super::relation::Relation;

/// What the numbers of the action are, in relation to those of the state.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum ActionKind {
    /// Targets in the space of the state: a leader's position.
    Position,
    /// The state of the next row: made from the state.
    Next,
    /// Increments of the state, frame by frame.
    Delta,
    /// Velocities of the state.
    Velocity,
    /// Positions that change every so many frames only.
    Held {
        /// Frames from one change to the next.
        frames: u16,
    },
    /// Positions in chunks, with a jump where the next chunk begins.
    Chunked,
    /// Numbers of another space: a pose is commanded and joints are measured.
    Other,
    /// There is no action.
    None,
    /// Not known: nobody declared it, and the data does not decide.
    Unknown,
}

/// How the kind of the action is known.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum KnownBy {
    /// Nobody looked: positions are assumed.
    #[default]
    Assumed,
    /// The profile says it.
    Declared,
    /// The data shows it; the figures that decided.
    Recognised(String),
    /// Neither; why not.
    Undecided(String),
}

/// What the actions of a rig are, and how that is known.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Actions {
    /// What they are.
    pub kind: ActionKind,
    /// How that is known.
    pub by: KnownBy,
}

impl Default for Actions {
    /// Positions, assumed.
    fn default() -> Self {
        Self { kind: ActionKind::Position, by: KnownBy::Assumed }
    }
}

impl ActionKind {
    /// The kinds that a profile can name. A hold's length is measured, so it is not named.
    pub const NAMED: [(&'static str, Self); 7] = [
        ("position", Self::Position),
        ("next", Self::Next),
        ("delta", Self::Delta),
        ("velocity", Self::Velocity),
        ("held", Self::Held { frames: 0 }),
        ("chunked", Self::Chunked),
        ("other", Self::Other),
    ];

    /// Whether the action is a rate: motion of the state, by frame or by second.
    pub const fn is_rate(self) -> bool {
        matches!(self, Self::Delta | Self::Velocity)
    }

    /// What the actions are, in words; the frame period gives the rate of updates.
    pub fn words(self, period_s: f64) -> String {
        match self {
            Self::Position => "actions are positions".to_owned(),
            Self::Next => "actions are the next observations".to_owned(),
            Self::Delta => "actions are increments".to_owned(),
            Self::Velocity => "actions are velocities".to_owned(),
            Self::Held { frames: 0 | 1 } => "actions are held between updates".to_owned(),
            Self::Held { frames } => {
                let ordinal = match frames {
                    2 => "2nd",
                    3 => "3rd",
                    _ => "th",
                };
                let number = if frames > 3 { frames.to_string() } else { String::new() };
                let hertz = 1.0 / (f64::from(frames) * period_s);
                {
                    let hertz = (hertz * 10.0).round() / 10.0;
                    format!("actions change every {number}{ordinal} frame ({hertz} Hz)")
                }
            }
            Self::Chunked => "actions come in chunks and jump from one to the next".to_owned(),
            Self::Other => "actions are of another space than the state".to_owned(),
            Self::None => "there are no actions".to_owned(),
            Self::Unknown => "what the actions are is not known".to_owned(),
        }
    }

    /// Why a check that needs this relation can say nothing; none where it can.
    #[expect(
        clippy::match_same_arms,
        reason = "the first arm is what can be measured whatever stands below"
    )]
    pub const fn lacks(self, needs: Relation) -> Option<&'static str> {
        match (needs, self) {
            (Relation::Nothing, _)
            | (_, Self::Position)
            | (Relation::Action, Self::Next | Self::Other | Self::Unknown | Self::None)
            | (Relation::Action | Relation::Motion, Self::Delta | Self::Velocity)
            | (Relation::Path | Relation::Steps, Self::Next) => None,
            (Relation::Path, Self::Held { .. }) => Some("the actions are held between updates"),
            (Relation::Path, Self::Chunked) => Some("the actions jump from chunk to chunk"),
            (_, Self::Held { .. } | Self::Chunked) => None,
            (_, Self::None) => Some("no leader column"),
            (_, Self::Next) => Some("the actions are the next observations, made from the state"),
            (Relation::Path | Relation::Steps, Self::Delta | Self::Velocity) => {
                Some("the actions are rates, not a path of positions: zero is a hold")
            }
            (_, Self::Delta) => Some("the actions are increments, not positions"),
            (_, Self::Velocity) => Some("the actions are velocities, not positions"),
            (_, Self::Other) => Some("the actions are of another space than the state"),
            (_, Self::Unknown) => Some(UNKNOWN),
        }
    }
}

/// Why nothing can be said of following where the kind of the action is not known.
const UNKNOWN: &str = "what the actions are is not known: declare it in the profile, such as \
     [action] kind = \"position\"";
