//! What a dataset offers to those that read it.

use std::sync::Arc;

use crate::model::{Episode, EpisodeIndex, Rig, Skipped, Unread};
use crate::source::input::Input;
use crate::source::role::RoleChoice;

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
    /// Files next to the recordings that are none.
    fn skipped(&self) -> &Skipped;
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
