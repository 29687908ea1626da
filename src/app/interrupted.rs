//! A dataset that is read until the caller asks for the end.

use std::sync::Arc;

use crate::model::{Episode, EpisodeIndex, Rig, Skipped, Unread};
use crate::source::{Input, RoleChoice, Source};

/// Reads nothing more once `stop` says so: what was measured up to then is discarded by the caller.
pub(super) struct UntilStopped<'a> {
    pub source: &'a dyn Source,
    pub stop: &'a (dyn Fn() -> bool + Sync),
}

impl Source for UntilStopped<'_> {
    fn rig(&self) -> &Arc<Rig> {
        self.source.rig()
    }

    fn roles(&self) -> &[RoleChoice] {
        self.source.roles()
    }

    fn inputs(&self) -> &[Input] {
        self.source.inputs()
    }

    fn unread(&self) -> &[Unread] {
        self.source.unread()
    }

    fn skipped(&self) -> &Skipped {
        self.source.skipped()
    }

    fn episodes(&self) -> u64 {
        self.source.episodes()
    }

    fn shards(&self) -> usize {
        self.source.shards()
    }

    fn episode_id(&self, index: EpisodeIndex) -> Option<&str> {
        self.source.episode_id(index)
    }

    fn shard_of(&self, index: EpisodeIndex) -> Option<usize> {
        self.source.shard_of(index)
    }

    fn read(&self, shard: usize, visit: &mut dyn FnMut(&Episode)) -> Vec<Unread> {
        if (self.stop)() {
            return Vec::new();
        }
        self.source.read(shard, &mut |episode| {
            if !(self.stop)() {
                visit(episode);
            }
        })
    }
}
