//! A few episodes out of many.

use teleassay::engine::{self, Workers};
use teleassay::model::Episode;
use teleassay::source::Source;

use super::support::{Layout, Outcome, open, parquet, rows, table};

#[test]
fn the_chosen_are_shown_in_order_and_no_other_shard_is_read() -> Outcome {
    let folder = tempfile::tempdir()?;
    let all = rows(&[2_000; 60]);
    let path = |number: usize| folder.path().join(format!("part-{number}.parquet"));
    for (number, part) in all.chunks(40_000).enumerate() {
        parquet(&path(number), &table(part, Layout::List)?, 9_000)?;
    }
    let dataset = open(folder.path())?;
    assert!(dataset.shards() >= 3);
    assert_eq!((dataset.episode_id(59), dataset.episode_id(60)), (Some("59"), None));
    assert_eq!((dataset.shard_of(0), dataset.shard_of(60)), (Some(0), None));
    assert_eq!(dataset.shard_of(59), Some(dataset.shards() - 1));
    // The middle file is gone: whoever reads it has to say so.
    std::fs::remove_file(path(1))?;
    for threads in [1, 3] {
        let workers = Workers::start(Some(threads))?;
        let mut seen = Vec::new();
        let unread = engine::episodes(&dataset, &[58, 3, 10, 3, 900], &workers, &mut |episode| {
            seen.push((episode.key.index, episode.key.id.clone(), episode.frames()));
        });
        let one = |index: u64| (index, index.to_string(), 2_000);
        assert_eq!(seen, [one(3), one(10), one(58)], "{threads} threads");
        assert!(unread.is_empty(), "{unread:?}");
        let unread = engine::episodes(&dataset, &[25], &workers, &mut |_| {});
        assert_eq!(unread.len(), 1);
        let frames = |episode: &Episode| (episode.key.index, episode.frames());
        let mut made = Vec::new();
        let taken = &mut |one| made.push(one);
        let unread = engine::made_of(&dataset, &[59, 58, 3], &workers, &frames, taken);
        assert_eq!((made, unread.len()), (vec![(3, 2_000), (58, 2_000), (59, 2_000)], 0));
    }
    Ok(())
}

#[test]
fn every_episode_is_in_the_shard_that_is_named() -> Outcome {
    let folder = tempfile::tempdir()?;
    let path = folder.path().join("woven.parquet");
    let all = rows(&[100_000; 6]);
    let woven: Vec<_> = (0..600_000).map(|row| all[row % 6 * 100_000 + row / 6].clone()).collect();
    parquet(&path, &table(&woven, Layout::FixedSizeList)?, 200_000)?;
    let dataset = open(&path)?;
    assert!(dataset.shards() > 1);
    for shard in 0..dataset.shards() {
        dataset.read(shard, &mut |episode| {
            assert_eq!(dataset.shard_of(episode.key.index), Some(shard));
            assert_eq!(dataset.episode_id(episode.key.index), Some(episode.key.id.as_str()));
        });
    }
    Ok(())
}
