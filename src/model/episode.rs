//! One demonstration, as the checks see it.

use std::sync::Arc;

use super::channels::Channels;
use super::extras::Extras;
use super::position::EpisodeIndex;
use super::rig::Rig;

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
    /// Its values in the columns of [`Rig::labels`], in their order: who, where, with what. Of no
    /// check's concern.
    pub labels: Vec<Option<Arc<str>>>,
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
