//! A few episodes out of many.

use arrow::ipc::writer::FileWriter;
use teleassay::engine::{self, Workers};
use teleassay::model::{Episode, EpisodeIndex, Unread};
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
    assert_eq!((dataset.episode_id(59.into()), dataset.episode_id(60.into())), (Some("59"), None));
    assert_eq!((dataset.shard_of(0.into()), dataset.shard_of(60.into())), (Some(0), None));
    assert_eq!(dataset.shard_of(59.into()), Some(dataset.shards() - 1));
    // The middle file is gone: whoever reads it has to say so.
    std::fs::remove_file(path(1))?;
    for threads in [1, 3] {
        let workers = Workers::start(Some(threads))?;
        let mut seen = Vec::new();
        let unread = engine::episodes(
            &dataset,
            &[58, 3, 10, 3, 900].map(EpisodeIndex::new),
            &workers,
            &mut |episode| {
                seen.push((episode.key.index.get(), episode.key.id.clone(), episode.frames()));
            },
        );
        let one = |index: u64| (index, index.to_string(), 2_000);
        assert_eq!(seen, [one(3), one(10), one(58)], "{threads} threads");
        assert!(unread.is_empty(), "{unread:?}");
        let unread = engine::episodes(&dataset, &[25.into()], &workers, &mut |_| {});
        assert_eq!(unread.len(), 1);
        let frames = |episode: &Episode| (episode.key.index.get(), episode.frames());
        let mut made = Vec::new();
        let taken = &mut |one| made.push(one);
        let unread = engine::made_of(
            &dataset,
            &[59, 58, 3].map(EpisodeIndex::new),
            &workers,
            &frames,
            taken,
        );
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

/// Places, stamps and positions of the episodes of a shard.
type Shown = Vec<(u64, Vec<f64>, Vec<f32>)>;

fn shown(read: impl FnOnce(&mut dyn FnMut(&Episode)) -> Vec<Unread>) -> Shown {
    let mut shown = Vec::new();
    let unread = read(&mut |episode| {
        let joints = (0..episode.state.joints()).flat_map(|j| episode.state.joint(j).to_vec());
        shown.push((episode.key.index.get(), episode.time_s.clone(), joints.collect()));
    });
    assert!(unread.is_empty(), "{unread:?}");
    shown.sort_by_key(|(index, ..)| *index);
    shown
}

#[test]
fn passing_over_the_others_changes_nothing_of_the_chosen() -> Outcome {
    let folder = tempfile::tempdir()?;
    let all = rows(&[700; 40]);
    // In order; and in pieces, each episode going on behind the next one.
    let piece = |row: usize| {
        let (pair, inside) = (row / 1_400 * 1_400, row % 1_400);
        all[pair + inside % 4 / 2 * 700 + inside / 4 * 2 + inside % 2].clone()
    };
    let pieces: Vec<_> = (0..28_000).map(piece).collect();
    for (name, table_rows) in [("whole", &all), ("pieces", &pieces)] {
        let parquet_file = folder.path().join(format!("{name}.parquet"));
        parquet(&parquet_file, &table(table_rows, Layout::List)?, 3_000)?;
        let ipc_file = folder.path().join(format!("{name}.arrow"));
        let batch = table(table_rows, Layout::List)?;
        let mut writer = FileWriter::try_new(std::fs::File::create(&ipc_file)?, &batch.schema())?;
        for start in (0..28_000).step_by(4_000) {
            writer.write(&batch.slice(start, 4_000))?;
        }
        writer.finish()?;
        for file in [parquet_file, ipc_file] {
            let dataset = open(&file)?;
            for shard in 0..dataset.shards() {
                let every = shown(|visit| dataset.read(shard, visit));
                for step in [1, 2, 3, 7, 40] {
                    let places = (0..40).filter(|at| at % step == step / 2);
                    let wanted: Vec<EpisodeIndex> = places.map(EpisodeIndex::new).collect();
                    let some = shown(|visit| dataset.read_only(shard, &wanted, visit));
                    let asked = |(index, ..): &&(u64, _, _)| wanted.contains(&(*index).into());
                    let expected: Shown = every.iter().filter(asked).cloned().collect();
                    assert!(some == expected, "{}, every {step}th", file.display());
                }
                assert!(shown(|visit| dataset.read_only(shard, &[], visit)).is_empty());
            }
        }
    }
    Ok(())
}
