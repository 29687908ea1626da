//! What the person says of the table and the rig, before anything is looked at.

use crate::model::AngleUnit;

/// Unit of a numeric time column.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TimeUnit {
    /// Seconds.
    Second,
    /// Milliseconds.
    Milli,
    /// Microseconds.
    Micro,
    /// Nanoseconds.
    Nano,
}

impl TimeUnit {
    /// Seconds to one unit.
    pub const fn seconds(self) -> f64 {
        match self {
            Self::Second => 1.0,
            Self::Milli => 1e-3,
            Self::Micro => 1e-6,
            Self::Nano => 1e-9,
        }
    }
}

/// One joint as declared; what is not declared is learnt from the data or stays unknown.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct DeclaredJoint {
    /// Name.
    pub name: String,
    /// Lower limit, radians (metres if linear).
    pub lower: Option<f64>,
    /// Upper limit, radians (metres if linear).
    pub upper: Option<f64>,
    /// Greatest speed, rad/s (m/s if linear).
    pub max_speed: Option<f64>,
    /// Whether it is a gripper; unsaid, its name decides.
    pub gripper: Option<bool>,
    /// Whether it is linear (metres).
    pub linear: bool,
}

/// Everything declared about a dataset: by the profile, by options, or nothing at all.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Declared {
    /// Episode column.
    pub episode: Option<String>,
    /// Time column.
    pub time: Option<String>,
    /// Unit of the time column.
    pub time_unit: Option<TimeUnit>,
    /// Follower columns: one list or struct column, or scalar columns (`prefix_*`) in joint order.
    pub state: Vec<String>,
    /// Leader columns, as for `state`.
    pub action: Vec<String>,
    /// Task column.
    pub task: Option<String>,
    /// Rate in hertz.
    pub rate_hz: Option<f64>,
    /// Unit of the joint values.
    pub unit: Option<AngleUnit>,
    /// Counts of one turn, when the sensor's resolution is known though values are not counts.
    pub counts_per_turn: Option<f64>,
    /// Joints in order; empty when not declared.
    pub joints: Vec<DeclaredJoint>,
}
