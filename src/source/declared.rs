//! What the person says of the table and the rig, before anything is looked at.

use std::path::PathBuf;
use std::sync::Arc;

use super::declared_signals::DeclaredSignals;
use crate::model::{ActionKind, AngleUnit, Extra, Rig};

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
    /// Largest speed, rad/s (m/s if linear).
    pub max_speed: Option<f64>,
    /// Largest effort, Nm (N if linear).
    pub max_effort: Option<f64>,
    /// Largest temperature of its motor, in the unit of the table.
    pub max_temperature: Option<f64>,
    /// Stored values at its lower and upper limit, where the table is normalised and this joint has
    /// a range of its own.
    pub range: Option<(f64, f64)>,
    /// The arm it belongs to; if not given, its name decides.
    pub arm: Option<String>,
    /// Whether it is a gripper; if not given, its name decides.
    pub gripper: Option<bool>,
    /// Whether it is parked: it stays still by intent.
    pub parked: bool,
    /// Whether it is linear (metres).
    pub linear: bool,
}

/// One camera's columns as declared.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct DeclaredCamera {
    /// Name.
    pub name: String,
    /// Column with the number of the image.
    pub index: Option<String>,
    /// Column with the stamp of the image.
    pub stamp: Option<String>,
    /// Rate in hertz.
    pub rate_hz: Option<f64>,
}

/// A mobile base's columns as declared.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct DeclaredBase {
    /// Forward speed (and sideways speed) and turn rate: a list column or scalar columns.
    pub velocity: Vec<String>,
    /// x, y and yaw, likewise.
    pub pose: Vec<String>,
}

/// Everything declared about a dataset: by the profile, by options, or nothing at all.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Declared {
    /// The rig as it was learnt from other data of it: taken as it is, and nothing is surveyed.
    pub rig: Option<Arc<Rig>>,
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
    /// Measured speeds, as for `state`.
    pub velocity: Vec<String>,
    /// Effort, torque, load or current, as for `state`.
    pub effort: Vec<String>,
    /// Voltage, as for `state`, or one column for all joints.
    pub voltage: Vec<String>,
    /// Temperature, as for `state`.
    pub temperature: Vec<String>,
    /// Cameras; empty when not declared.
    pub cameras: Vec<DeclaredCamera>,
    /// Mobile base.
    pub base: Option<DeclaredBase>,
    /// Task column.
    pub task: Option<String>,
    /// Columns that say of an episode who recorded it, where, with what.
    pub labels: Vec<String>,
    /// Rate in hertz.
    pub rate_hz: Option<f64>,
    /// Unit of the joint values.
    pub unit: Option<AngleUnit>,
    /// Counts of one turn, when the sensor's resolution is known though values are not counts.
    pub counts_per_turn: Option<f64>,
    /// Unit in which the profile writes the limits of joints; unsaid, that of the values.
    pub limit_unit: Option<AngleUnit>,
    /// A URDF file with the limits that the joints below leave unsaid.
    pub urdf: Option<PathBuf>,
    /// Joints in order; empty when not declared.
    pub joints: Vec<DeclaredJoint>,
    /// Kinds and groups of the state's dimensions.
    pub state_signals: DeclaredSignals,
    /// Kinds and groups of the action's dimensions.
    pub action_signals: DeclaredSignals,
    /// Column that says when the input device is coupled.
    pub clutch: Option<String>,
    /// Column that says who or what commands.
    pub mode: Option<String>,
    /// What the actions are, in relation to the state.
    pub action_kind: Option<ActionKind>,
}

impl Declared {
    /// The columns declared for a kind with a value to a joint.
    pub(in crate::source) fn sensor(&self, kind: Extra) -> &[String] {
        match kind {
            Extra::Velocity => &self.velocity,
            Extra::Effort => &self.effort,
            Extra::Voltage => &self.voltage,
            Extra::Temperature => &self.temperature,
            Extra::Cameras | Extra::Base => &[],
        }
    }
}
