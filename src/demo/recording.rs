//! One simulated episode, and the truth of how it came to be.

use std::sync::Arc;

use serde::Serialize;

use super::fault::Fault;
use crate::model::{Channels, Episode, EpisodeIndex, EpisodeKey, Extras, Rig, RowRange};

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
    /// What slow, large motion is late by, seconds: the sum of the three. Play adds to it: 6 ms at
    /// 30 degrees of motion for 0.9 degrees.
    pub lag_s: f64,
    /// The same as the drive itself shows it on a ramp, without play: nearer to the truth where the
    /// loop is slow or the acceleration has a limit. Not in the answer key.
    #[serde(skip)]
    pub trail_s: f64,
    /// Play, from stop to stop, radians.
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
    /// Checks that may rightly speak up beside it.
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

    /// The episode as a reader would hand it on, without a file: values go through the table's
    /// unit and 32 bits, as they do in a file.
    pub fn episode(&self, rig: &Arc<Rig>) -> Episode {
        let frames = self.frames();
        let scale = rig.unit.to_radian();
        let channels = |columns: &[Vec<f64>]| {
            let stored =
                columns.iter().flatten().map(|v| (f64::from((v / scale) as f32) * scale) as f32);
            Channels::new(stored.collect(), frames, columns.len())
        };
        Episode {
            key: EpisodeKey {
                id: self.id.to_string(),
                index: EpisodeIndex::new(self.id),
                task: Some(self.task.clone()),
                rows: RowRange { input: 0, start: 0, end: frames as u64 },
            },
            rig: rig.clone(),
            time_s: self.time_s.clone(),
            state: channels(&self.follower),
            action: Some(channels(&self.leader)),
            ragged_rows: 0,
            extras: Extras::default(),
        }
    }
}
