//! One simulated episode, and the truth of how it came to be.

use std::sync::Arc;

use serde::Serialize;

use super::fault::Fault;

/// One joint of the follower as it really is.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct JointTruth {
    /// Name.
    pub joint: String,
    /// From the leader's reading to the command's arrival in the servo, seconds.
    pub dead_time_s: f64,
    /// Time constant of the servo, seconds.
    pub time_constant_s: f64,
    /// Mean age of the held command: half a control cycle, seconds.
    pub hold_s: f64,
    /// What slow, large motion is late by, seconds: the sum of the three. Backlash adds to it: 6 ms at
    /// 30 degrees of motion for 0.9 degrees.
    pub lag_s: f64,
    /// The same as the drive itself shows it on a ramp, without backlash: nearer to the truth where the
    /// loop is slow or the acceleration has a limit. Not in the answer key.
    #[serde(skip)]
    pub trail_s: f64,
    /// Backlash, from stop to stop, radians.
    pub backlash_rad: f64,
    /// Mechanical stops, radians.
    pub stops_rad: [f64; 2],
}

/// One fault as it came to pass in one episode.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Answer {
    /// The check that should name it.
    pub check: &'static str,
    /// The fault and its size.
    pub fault: Fault,
    /// The joint, where it affected one.
    pub joint: Option<String>,
    /// How many frames, values or events.
    pub count: usize,
    /// Where: half-open stretches of the recorded frames.
    pub frames: Vec<[usize; 2]>,
    /// The same in seconds from the start of the episode.
    pub time_s: Vec<[f64; 2]>,
    /// Checks that may rightly report it too.
    pub may_also: &'static [&'static str],
}

/// What really happened.
#[derive(Debug, Clone, PartialEq)]
pub struct Truth {
    /// The follower, joint by joint.
    pub joints: Vec<JointTruth>,
    /// Per recorded frame, the moment of its cycle in seconds from the start of the episode,
    /// whatever its stamp says.
    pub moment_s: Vec<f64>,
    /// What was planted.
    pub answers: Vec<Answer>,
}

/// One simulated episode.
#[derive(Debug, Clone, PartialEq)]
pub struct Recording {
    /// Number of the episode, from 0.
    pub id: u64,
    /// The task it shows.
    pub task: Arc<str>,
    /// Stamps, seconds.
    pub time_s: Vec<f64>,
    /// Leader, joint-major, radians.
    pub leader: Vec<Vec<f64>>,
    /// Follower, joint-major, radians; `NaN` where missing.
    pub follower: Vec<Vec<f64>>,
    /// What really happened.
    pub truth: Truth,
}

impl Recording {
    /// Number of frames.
    pub fn frames(&self) -> usize {
        self.time_s.len()
    }
}
