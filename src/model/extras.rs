//! What a table may hold beyond time, state and action: read only where a check looks at it.

use std::sync::Arc;

use serde::{Deserialize, Serialize};

use super::channels::Channels;

/// A kind of optional columns.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Extra {
    /// The follower's measured speeds.
    Velocity,
    /// What its motors give: effort, torque, load or current.
    Effort,
    /// Supply voltage, of each joint or of the arm.
    Voltage,
    /// Temperature of the motors.
    Temperature,
    /// Frame counters and stamps of cameras.
    #[serde(rename = "camera")]
    Cameras,
    /// Velocity and pose of a mobile base.
    Base,
}

impl Extra {
    /// The kind in one word.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Velocity => "velocity",
            Self::Effort => "effort",
            Self::Voltage => "voltage",
            Self::Temperature => "temperature",
            Self::Cameras => "camera",
            Self::Base => "base",
        }
    }
}

/// The optional columns of one episode; what the table lacks, or no check asked for, is absent.
/// Missing values are `NaN`, as in the state.
#[derive(Debug, Clone, Default)]
pub struct Extras {
    /// Measured speeds in rad/s (m/s if linear), a channel to a joint.
    pub velocity: Option<Channels>,
    /// Effort, torque, load or current as stored, a channel to a joint.
    pub effort: Option<Channels>,
    /// Voltage as stored: a channel to a joint, or one for all of them.
    pub voltage: Option<Channels>,
    /// Temperature as stored: a channel to a joint.
    pub temperature: Option<Channels>,
    /// Cameras in the order of the table.
    pub cameras: Vec<CameraTrack>,
    /// The mobile base.
    pub base: Option<BaseTrack>,
    /// Rotations, as they were stored.
    pub rotations: Vec<RotationTrack>,
}

/// What is to be known of how one side of a rotation was stored in one episode.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct RotationTrack {
    /// Place in the rig of the first of its three dimensions.
    pub joint: usize,
    /// Whether it is the leader's.
    pub leader: bool,
    /// Frames at which the stored numbers jump although the rotation does not.
    pub jumps: Vec<u32>,
}

/// Which image of one camera goes with each row.
#[derive(Debug, Clone)]
pub struct CameraTrack {
    /// The camera's name.
    pub name: Arc<str>,
    /// Declared rate in hertz.
    pub rate_hz: Option<f64>,
    /// Number of the image, a whole number per row.
    pub index: Option<Vec<f64>>,
    /// Stamp of the image in seconds.
    pub stamp_s: Option<Vec<f64>>,
}

/// A mobile base.
#[derive(Debug, Clone)]
pub struct BaseTrack {
    /// Forward (and, with three channels, sideways) speed in m/s, last the turn rate in rad/s.
    pub velocity: Channels,
    /// Place in metres, two channels, and heading in radians.
    pub pose: Channels,
}
