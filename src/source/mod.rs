//! Where episodes come from: finds tables, decides which column plays which role, cuts the data
//! into shards of whole episodes and reads them.
//!
//! Floor 2: knows [`crate::model`] and [`crate::num`]. The only module that opens data files.

mod arms;
mod camera_roles;
mod clock;
mod columns;
mod cut;
mod dataset;
mod declared;
mod discover;
mod error;
mod extras;
mod folder;
mod footers;
mod grid;
mod groups;
mod guard;
mod hash;
mod index;
mod ipc;
mod natural;
mod nested;
mod numbers;
pub(crate) mod pages;
mod parquet;
mod plan;
pub(crate) mod positioned;
mod read;
mod rig;
mod robust;
mod runs;
mod scale;
mod sensors;
mod setup;
mod shape;
mod stamps;
mod survey;
mod table;
mod urdf;
mod vector_roles;
mod vectors;
mod wanted;
mod widths;
mod words;

use std::path::PathBuf;
use std::sync::Arc;

use serde::{Deserialize, Serialize};

use crate::model::{Episode, EpisodeIndex, Rig, Unread};

pub use dataset::{Dataset, RunJobs, one_by_one};
pub use declared::{Declared, DeclaredBase, DeclaredCamera, DeclaredJoint, TimeUnit};
pub use error::SourceError;

/// One input file.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Input {
    /// Path as it was found.
    pub path: PathBuf,
    /// Size in bytes.
    pub bytes: u64,
    /// Number of rows.
    pub rows: u64,
    /// SHA-256 of its content, in hexadecimal, where it was asked for: see [`Dataset::hashed`].
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sha256: Option<String>,
}

/// Which column plays a role, and how that was decided.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RoleChoice {
    /// `episode`, `time`, `state`, `action`, `task`, `frame` (shown only), or an optional kind:
    /// `velocity`, `effort`, `voltage`, `temperature`, `camera`, `base`.
    pub role: &'static str,
    /// The column (or scalar columns in joint order) that plays it; empty if none does.
    pub columns: Vec<String>,
    /// The shape or type, in plain words: `list of 6 x float32`.
    pub shape: String,
    /// Why: `declared in the profile`, `the name says "leader"`, `one file is one episode`.
    pub why: String,
}

/// A dataset that can be read shard by shard.
pub trait Source: Sync {
    /// The rig, surveyed.
    fn rig(&self) -> &Arc<Rig>;
    /// Which column plays which role.
    fn roles(&self) -> &[RoleChoice];
    /// Every file that is read, in the order of the dataset.
    fn inputs(&self) -> &[Input];
    /// Files already known to be unreadable.
    fn unread(&self) -> &[Unread];
    /// How many episodes the dataset holds.
    fn episodes(&self) -> u64;
    /// How many shards of whole episodes it is cut into.
    fn shards(&self) -> usize;
    /// The id of an episode, by its place in the order of the dataset.
    fn episode_id(&self, index: EpisodeIndex) -> Option<&str>;
    /// The shard that holds an episode, whole, so that it can be read without the others.
    fn shard_of(&self, index: EpisodeIndex) -> Option<usize>;
    /// Reads one shard and shows each of its episodes, in any order ([`crate::model::EpisodeKey`]
    /// holds the place). The episode is lent: its buffers are used again for the next one.
    /// Returns what could not be read.
    fn read(&self, shard: usize, visit: &mut dyn FnMut(&Episode)) -> Vec<Unread>;
    /// The same for these episodes alone (places in the order of the dataset, sorted): what only
    /// others need may be passed over unread.
    fn read_only(
        &self,
        shard: usize,
        wanted: &[EpisodeIndex],
        visit: &mut dyn FnMut(&Episode),
    ) -> Vec<Unread> {
        self.read(shard, &mut |episode| {
            if wanted.binary_search(&episode.key.index).is_ok() {
                visit(episode);
            }
        })
    }
}
