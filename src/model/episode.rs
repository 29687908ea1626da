//! One demonstration, as the checks see it.

use std::sync::Arc;

use super::extras::Extras;
use super::position::EpisodeIndex;
use super::rig::Rig;

/// Joint values of one episode, joint-major: all frames of joint 0, then of joint 1, ….
///
/// Values are SI. A value that the table did not hold (null, NaN, infinite, or beyond the end of
/// a short vector) is `NaN` here: counted by the checks, never silently filled.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Channels {
    values: Vec<f32>,
    frames: usize,
    joints: usize,
}

impl Channels {
    /// Takes joint-major values.
    ///
    /// # Panics
    /// If `values.len() != frames * joints`.
    pub fn new(values: Vec<f32>, frames: usize, joints: usize) -> Self {
        assert_eq!(values.len(), frames * joints, "joint-major values must fill frames x joints");
        Self { values, frames, joints }
    }

    /// All frames of one joint.
    pub fn joint(&self, joint: usize) -> &[f32] {
        &self.values[joint * self.frames..(joint + 1) * self.frames]
    }

    /// Number of joints.
    pub fn joints(&self) -> usize {
        self.joints
    }

    /// Number of frames.
    pub fn frames(&self) -> usize {
        self.frames
    }

    /// All values, joint-major.
    pub fn values(&self) -> &[f32] {
        &self.values
    }

    /// Gives the buffer back for the next episode.
    pub fn into_values(self) -> Vec<f32> {
        self.values
    }
}

/// Where a stretch of an episode's rows lies: rows `[start, end)` of input number `input`.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct RowRange {
    /// Index of the input file in the source's list.
    pub input: u32,
    /// First row in that file.
    pub start: u64,
    /// First row after.
    pub end: u64,
}

/// Which episode this is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct EpisodeKey {
    /// The id as stored, made unique by its folder where two folders use the same id.
    pub id: String,
    /// Position in the order of the dataset.
    pub index: EpisodeIndex,
    /// The task it shows, where a task column exists.
    pub task: Option<Arc<str>>,
    /// Rows it was read from: first to last.
    pub rows: RowRange,
}

/// One episode: a time stamp, the follower's state and the leader's action per frame.
#[derive(Debug, Clone)]
pub struct Episode {
    /// Which one.
    pub key: EpisodeKey,
    /// The rig that was recorded.
    pub rig: Arc<Rig>,
    /// Stamps in seconds as stored (converted to seconds only); `NaN` where missing.
    pub time_s: Vec<f64>,
    /// Follower: measured positions.
    pub state: Channels,
    /// Leader: commanded positions.
    pub action: Option<Channels>,
    /// Rows whose vector was longer or shorter than the rig has joints.
    pub ragged_rows: u32,
    /// Optional columns, where there are any and a check asked for them.
    pub extras: Extras,
}

impl Episode {
    /// Number of frames.
    pub fn frames(&self) -> usize {
        self.time_s.len()
    }

    /// Last finite stamp minus first finite stamp, in seconds; 0 if there are none.
    pub fn duration_s(&self) -> f64 {
        let mut finite = self.time_s.iter().copied().filter(|t| t.is_finite());
        let Some(first) = finite.next() else { return 0.0 };
        (finite.next_back().unwrap_or(first) - first).max(0.0)
    }
}
