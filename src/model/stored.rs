//! How the stored numbers of a row become the dimensions of a rig, where that is more than one
//! number to a joint in the same order on both sides.

use serde::{Deserialize, Serialize};

/// How a table stores a rotation.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum RotationForm {
    /// A quaternion with w last.
    Xyzw,
    /// A quaternion with w first.
    Wxyz,
    /// Axis times angle.
    Vector,
    /// Roll, pitch and yaw about fixed x, y, z.
    Euler,
    /// The first two columns of the matrix, one after the other.
    Columns,
}

impl RotationForm {
    /// Every form.
    pub const ALL: [Self; 5] = [Self::Xyzw, Self::Wxyz, Self::Vector, Self::Euler, Self::Columns];

    /// Numbers stored.
    pub const fn width(self) -> usize {
        match self {
            Self::Xyzw | Self::Wxyz => 4,
            Self::Vector | Self::Euler => 3,
            Self::Columns => 6,
        }
    }

    /// The form as a profile writes it.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Xyzw => "xyzw",
            Self::Wxyz => "wxyz",
            Self::Vector => "rotation_vector",
            Self::Euler => "euler",
            Self::Columns => "columns",
        }
    }

    /// The form of this word.
    pub fn named(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|form| form.word() == word)
    }
}

/// Where a dimension comes from on one side.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Take {
    /// Nothing is stored for it.
    Nothing,
    /// A stored number times a factor plus an offset.
    One {
        /// Its place among the stored numbers.
        from: usize,
        /// The factor.
        factor: f64,
        /// The offset.
        offset: f64,
        /// Whether it is unwrapped over time.
        unwrap: bool,
    },
    /// A rotation: three dimensions, tangent coordinates about the reference.
    Rotation {
        /// Places of its numbers.
        from: Vec<usize>,
        /// How they store it.
        form: RotationForm,
        /// Radians to one stored unit; of no matter to what has no unit.
        factor: f64,
    },
}

/// One dimension of the rig, or the three of a rotation.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct StoredEntry {
    /// The first dimension that it gives.
    pub joint: u16,
    /// From the state.
    pub state: Take,
    /// From the action.
    pub action: Take,
    /// Rotation about which tangent coordinates are taken, w x y z.
    pub reference: [f64; 4],
}

impl StoredEntry {
    /// How many dimensions it gives.
    pub fn width(&self) -> usize {
        if matches!(self.state, Take::Rotation { .. }) { 3 } else { 1 }
    }
}

/// The stored numbers, and what becomes of them.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Stored {
    /// Names of the state's numbers.
    pub state: Vec<String>,
    /// Names of the action's numbers.
    pub action: Vec<String>,
    /// The dimensions in the order of the rig.
    pub entries: Vec<StoredEntry>,
}
