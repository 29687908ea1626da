//! Why an optional column is not used.

use crate::model::count;
use crate::source::roles::shape::Column;

/// Why an optional column is not used. It is never an error, because nothing depends on it.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub(in crate::source) enum Unused {
    /// The declared column is not there.
    #[error("there is no column \"{0}\"")]
    NoColumn(String),
    /// Two columns fit equally well.
    #[error(
        "both \"{first}\" and \"{second}\" could be it: decide with [columns] {key} = [\"...\"]"
    )]
    TwoColumns {
        /// One.
        first: String,
        /// The other.
        second: String,
        /// The key of the profile that decides.
        key: &'static str,
    },
    /// A column that must hold a number and does not.
    #[error("\"{0}\" is no number")]
    NoNumber(String),
    /// A joint without a column.
    #[error("no column for joint {0}")]
    NoJoint(String),
    /// A joint with two.
    #[error("both \"{first}\" and \"{second}\" could be joint {joint}")]
    TwoForJoint {
        /// One.
        first: String,
        /// The other.
        second: String,
        /// The joint.
        joint: String,
    },
    /// A type that does not serve.
    #[error("\"{column}\" is {shape}: {kind} needs numbers")]
    Shape {
        /// The column.
        column: String,
        /// What it is.
        shape: String,
        /// What it should be.
        kind: &'static str,
    },
    /// Another number of values than joints.
    #[error("{} a row, the rig has {}", count(*found, "value"), count(*joints, "joint"))]
    Count {
        /// Values a row.
        found: usize,
        /// Joints of the rig.
        joints: usize,
    },
    /// A declared column of a camera that does not serve.
    #[error("\"{column}\" is {shape}, must be {wanted}")]
    Camera {
        /// The column.
        column: String,
        /// What it is.
        shape: String,
        /// What it must be.
        wanted: &'static str,
    },
    /// Columns of a base with another number of values.
    #[error(
        "velocity has {} (forward, or forward and sideways; then turn), pose {places} (x, y, yaw)",
        count(*speeds, "value")
    )]
    Base {
        /// Values of the velocity.
        speeds: usize,
        /// Values of the pose.
        places: usize,
    },
}

impl Unused {
    /// A column of a type that does not serve.
    pub fn shape(column: &Column, kind: &'static str) -> Self {
        Self::Shape { column: column.name(), shape: column.shape().words(), kind }
    }

    /// How a choice of roles says it.
    pub fn why(&self) -> String {
        format!("not used: {self}")
    }
}
