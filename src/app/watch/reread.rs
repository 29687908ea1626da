//! Episodes of a report, read once more for their traces: each from its own file, on the rig of
//! all.

use std::path::PathBuf;
use std::sync::Arc;

use crate::model::{Episode, EpisodeIndex, Rig, Skipped, Unread};
use crate::source::{Dataset, Declared, Input, RoleChoice, Source};

/// Where the episodes of a report are: file by file, each a shard.
#[derive(Debug)]
pub(crate) struct Reread {
    pub rig: Arc<Rig>,
    pub roles: Vec<RoleChoice>,
    pub inputs: Vec<Input>,
    pub skipped: Skipped,
    pub declared: Declared,
    /// File, first row and id of each episode.
    pub places: Vec<(u32, u64, String)>,
    /// Path of each file.
    pub paths: Vec<PathBuf>,
}

impl Source for Reread {
    fn rig(&self) -> &Arc<Rig> {
        &self.rig
    }

    fn roles(&self) -> &[RoleChoice] {
        &self.roles
    }

    fn inputs(&self) -> &[Input] {
        &self.inputs
    }

    fn unread(&self) -> &[Unread] {
        &[]
    }

    fn skipped(&self) -> &Skipped {
        &self.skipped
    }

    fn episodes(&self) -> u64 {
        self.places.len() as u64
    }

    fn shards(&self) -> usize {
        self.paths.len()
    }

    fn episode_id(&self, index: EpisodeIndex) -> Option<&str> {
        self.place(index).map(|(.., id)| id.as_str())
    }

    fn shard_of(&self, index: EpisodeIndex) -> Option<usize> {
        self.place(index).map(|(file, ..)| *file as usize)
    }

    fn read(&self, shard: usize, visit: &mut dyn FnMut(&Episode)) -> Vec<Unread> {
        let all: Vec<EpisodeIndex> = (0..self.episodes()).map(EpisodeIndex::new).collect();
        self.read_only(shard, &all, visit)
    }

    fn read_only(
        &self,
        shard: usize,
        wanted: &[EpisodeIndex],
        visit: &mut dyn FnMut(&Episode),
    ) -> Vec<Unread> {
        let Some(path) = self.paths.get(shard) else { return Vec::new() };
        let declared = Declared { rig: Some(Arc::clone(&self.rig)), ..self.declared.clone() };
        // What is gone, or goes on, has no trace.
        let Ok(source) = Dataset::open(&[path], &declared) else { return Vec::new() };
        let own = |index: &EpisodeIndex| {
            self.place(*index).filter(|(file, ..)| *file as usize == shard).map(|at| (*index, at.1))
        };
        let own: Vec<(EpisodeIndex, u64)> = wanted.iter().filter_map(own).collect();
        for inner in 0..source.shards() {
            source.read(inner, &mut |episode| {
                let first = episode.key.rows.start;
                let Some((index, _)) = own.iter().find(|(_, row)| *row == first) else { return };
                let mut episode = episode.clone();
                episode.key.index = *index;
                visit(&episode);
            });
        }
        Vec::new()
    }
}

impl Reread {
    fn place(&self, index: EpisodeIndex) -> Option<&(u32, u64, String)> {
        self.places.get(usize::try_from(index.get()).ok()?)
    }
}
