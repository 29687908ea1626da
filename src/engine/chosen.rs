//! A few episodes out of many: reads the shards that hold them and no other.

use std::convert::Infallible;

use super::Workers;
use crate::model::{Episode, EpisodeIndex, Unread};
use crate::source::Source;

/// Shows the episodes at these places, each once, in the order of the dataset. Places that the
/// dataset does not have are left out. Returns what could not be read.
///
/// As many shards as there are threads are read at a time; of each, the chosen episodes alone are
/// held until they are shown.
pub fn episodes(
    source: &dyn Source,
    indices: &[EpisodeIndex],
    workers: &Workers,
    visit: &mut dyn FnMut(&Episode),
) -> Vec<Unread> {
    made_of(source, indices, workers, &Episode::clone, &mut |episode| visit(&episode))
}

/// The same where each worker makes something of its episodes, and nothing else is held.
pub fn made_of<T: Send>(
    source: &dyn Source,
    indices: &[EpisodeIndex],
    workers: &Workers,
    make: &(dyn Fn(&Episode) -> T + Sync),
    take: &mut dyn FnMut(T),
) -> Vec<Unread> {
    let mut wanted = indices.to_vec();
    wanted.sort_unstable();
    wanted.dedup();
    let mut shards: Vec<usize> = wanted.iter().filter_map(|at| source.shard_of(*at)).collect();
    shards.dedup();
    let mut unread = Vec::new();
    let job = |at: usize| read(source, shards[at], &wanted, make);
    let Ok(()) = workers.in_order(shards.len(), workers.threads(), job, |(mut found, missed)| {
        found.sort_by_key(|(index, _)| *index);
        for (_, made) in found {
            take(made);
        }
        for file in missed {
            if !unread.contains(&file) {
                unread.push(file);
            }
        }
        Ok::<(), Infallible>(())
    });
    unread
}

/// What was made of each chosen episode of a shard, with its place.
type Made<T> = Vec<(EpisodeIndex, T)>;

fn read<T>(
    source: &dyn Source,
    shard: usize,
    wanted: &[EpisodeIndex],
    make: &(dyn Fn(&Episode) -> T + Sync),
) -> (Made<T>, Vec<Unread>) {
    let mut found = Vec::new();
    let unread = source.read_only(shard, wanted, &mut |episode| {
        found.push((episode.key.index, make(episode)));
    });
    (found, unread)
}
