//! A dataset that lies in memory: of the tests, and of the benchmarks of faults and comparisons.

use std::collections::BTreeMap;
use std::sync::Arc;

use teleassay::model::{Episode, EpisodeIndex, Rig, Skipped, Unread};
use teleassay::source::{Input, RoleChoice, Source};

/// Nothing lies next to what is no file.
static NONE: Skipped = Skipped { kinds: BTreeMap::new(), own: Vec::new() };

/// Episodes, cut into shards.
pub struct Memory {
    rig: Arc<Rig>,
    shards: Vec<Vec<Episode>>,
}

impl Memory {
    /// Takes episodes of one rig, so many to a shard.
    pub fn new(rig: &Arc<Rig>, episodes: &[Episode], to_a_shard: usize) -> Self {
        let shards = episodes.chunks(to_a_shard.max(1)).map(<[Episode]>::to_vec).collect();
        Self { rig: Arc::clone(rig), shards }
    }
}

impl Source for Memory {
    fn rig(&self) -> &Arc<Rig> {
        &self.rig
    }

    fn roles(&self) -> &[RoleChoice] {
        &[]
    }

    fn inputs(&self) -> &[Input] {
        &[]
    }

    fn unread(&self) -> &[Unread] {
        &[]
    }

    fn skipped(&self) -> &Skipped {
        &NONE
    }

    fn episodes(&self) -> u64 {
        self.shards.iter().map(|shard| shard.len() as u64).sum()
    }

    fn shards(&self) -> usize {
        self.shards.len()
    }

    fn episode_id(&self, index: EpisodeIndex) -> Option<&str> {
        let mut all = self.shards.iter().flatten();
        all.find(|episode| episode.key.index == index).map(|episode| episode.key.id.as_str())
    }

    fn shard_of(&self, index: EpisodeIndex) -> Option<usize> {
        self.shards.iter().position(|shard| shard.iter().any(|e| e.key.index == index))
    }

    fn read(&self, shard: usize, visit: &mut dyn FnMut(&Episode)) -> Vec<Unread> {
        self.shards[shard].iter().for_each(visit);
        Vec::new()
    }
}
