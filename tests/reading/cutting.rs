//! Episodes that are interleaved, span files, or go by their folder.

use teleassay::source::{Dataset, Declared, Source};

use arrow::record_batch::RecordBatch;

use super::support::{
    Layout, Outcome, Row, expected, open, open_declared, parquet, read, recording, rows, table,
};

#[test]
fn interleaved_episodes_are_put_together() -> Outcome {
    let folder = tempfile::tempdir()?;
    let path = folder.path().join("woven.parquet");
    let all = rows(&[300, 300, 300]);
    let woven: Vec<Row> =
        (0..300).flat_map(|i| [&all[i], &all[300 + i], &all[600 + i]]).cloned().collect();
    parquet(&path, &table(&woven, Layout::List)?, 128)?;
    assert_eq!(read(&open(&path)?).0, expected(&all));
    Ok(())
}

#[test]
fn too_many_interleaved_rows_are_read_in_passes() -> Outcome {
    let folder = tempfile::tempdir()?;
    let path = folder.path().join("woven.parquet");
    let all = rows(&[100_000; 6]);
    let woven: Vec<Row> = (0..100_000)
        .flat_map(|i| (0..6).map(move |e| e * 100_000 + i))
        .map(|i| all[i].clone())
        .collect();
    parquet(&path, &table(&woven, Layout::List)?, 200_000)?;
    let dataset = open(&path)?;
    assert!(dataset.shards() > 1, "memory is bounded by reading the rows twice");
    assert!(read(&dataset).0 == expected(&all));
    Ok(())
}

#[test]
fn a_large_row_group_is_shared_and_small_ones_are_gathered() -> Outcome {
    let folder = tempfile::tempdir()?;
    let path = folder.path().join("large.parquet");
    let all = rows(&[7_000; 40]);
    let batch = table(&all, Layout::FixedSizeList)?;
    for (group, shards) in [(1_000_000, 2), (9_000, 8)] {
        parquet(&path, &batch, group)?;
        let dataset = open(&path)?;
        assert_eq!(dataset.shards(), shards, "row groups of {group}");
        assert!(read(&dataset).0 == expected(&all), "row groups of {group}");
    }
    Ok(())
}

#[test]
fn an_episode_spans_files_of_one_folder_and_not_of_two() -> Outcome {
    let folder = tempfile::tempdir()?;
    let all = rows(&[100, 100, 100]);
    for (name, part) in [("part-2", 0..150), ("part-10", 150..300)] {
        let path = folder.path().join("a").join(format!("{name}.parquet"));
        parquet(&path, &table(&all[part], Layout::List)?, 64)?;
    }
    let dataset = open(folder.path())?;
    assert_eq!(dataset.inputs().len(), 2);
    assert_eq!(read(&dataset).0, expected(&all));

    parquet(&folder.path().join("b/x.parquet"), &table(&all[..200], Layout::List)?, 64)?;
    let (seen, _) = read(&open(folder.path())?);
    let ids: Vec<_> = seen.iter().map(|s| s.id.as_str()).collect();
    assert_eq!(ids, ["a/0", "a/1", "2", "b/0", "b/1"], "a folder's name only where ids clash");
    Ok(())
}

#[test]
fn a_folder_key_names_the_episode() -> Outcome {
    let folder = tempfile::tempdir()?;
    let all = rows(&[40; 11]);
    for (number, part) in all.chunks(40).enumerate() {
        let batch = RecordBatch::try_from_iter(recording(part, Layout::List))?;
        for (half, at) in [(0, 0), (1, 25)] {
            let path = folder.path().join(format!("episode={number}/part-{half}.parquet"));
            parquet(&path, &batch.slice(at, if half == 0 { 25 } else { 15 }), 10)?;
        }
    }
    // Bookkeeping next to the tables is left alone.
    std::fs::write(folder.path().join("_notes.parquet"), "no table")?;
    std::fs::write(folder.path().join(".hidden.parquet"), "no table")?;
    let dataset = open(folder.path())?;
    let (seen, reasons) = read(&dataset);
    assert_eq!((seen, reasons), (expected(&all), Vec::new()));
    Ok(())
}

#[test]
fn files_with_one_name_are_kept_apart_by_folder() -> Outcome {
    let folder = tempfile::tempdir()?;
    let batch = RecordBatch::try_from_iter(recording(&rows(&[30]), Layout::List))?;
    for name in ["mon/take1.parquet", "tue/take1.parquet", "tue/take2.parquet"] {
        parquet(&folder.path().join(name), &batch, 1000)?;
    }
    let (seen, _) = read(&open(folder.path())?);
    let ids: Vec<_> = seen.iter().map(|s| s.id.as_str()).collect();
    assert_eq!(ids, ["mon/take1.parquet", "tue/take1.parquet", "take2"]);
    Ok(())
}

#[test]
fn several_paths_and_patterns_are_read_each_file_once() -> Outcome {
    let folder = tempfile::tempdir()?;
    let batch = RecordBatch::try_from_iter(recording(&rows(&[30]), Layout::List))?;
    for name in ["a/1.parquet", "a/2.parquet", "b/3.pq"] {
        parquet(&folder.path().join(name), &batch, 1000)?;
    }
    let path = |text: &str| folder.path().join(text).to_string_lossy().into_owned();
    let open = |paths: &[String]| Dataset::open(paths, &Declared::default());
    assert_eq!(open(&[path("*/[12].parquet"), path("a/1.parquet")])?.episodes(), 2);
    assert_eq!(open(&[path("b"), path("a")])?.inputs()[0].path, folder.path().join("b/3.pq"));
    assert_eq!(open(&[path("**/*.p*")])?.episodes(), 3);
    Ok(())
}

#[test]
fn threads_can_share_a_dataset() -> Outcome {
    let folder = tempfile::tempdir()?;
    let all = rows(&[2_000; 60]);
    for (number, part) in all.chunks(40_000).enumerate() {
        let path = folder.path().join(format!("part-{number}.parquet"));
        parquet(&path, &table(part, Layout::List)?, 9_000)?;
    }
    let paths = [folder.path().to_string_lossy().into_owned()];
    let dataset = Dataset::open(&paths, &Declared::default())?;
    let frames = std::sync::atomic::AtomicUsize::new(0);
    let read = |shard: usize| {
        let unread = dataset.read(shard, &mut |episode| {
            frames.fetch_add(episode.frames(), std::sync::atomic::Ordering::Relaxed);
        });
        assert!(unread.is_empty());
    };
    std::thread::scope(|scope| {
        for shard in 0..dataset.shards() {
            let read = &read;
            scope.spawn(move || read(shard));
        }
    });
    assert_eq!(frames.into_inner(), all.len());
    assert_eq!(dataset.rig(), open(folder.path())?.rig());
    Ok(())
}

#[test]
fn a_declared_folder_key_is_the_episode() -> Outcome {
    let folder = tempfile::tempdir()?;
    let batch = RecordBatch::try_from_iter(recording(&rows(&[30]), Layout::List))?;
    for name in ["tray=a/plug=3/0.parquet", "tray=b/plug=3/0.parquet", "tray=b/plug=4/0.parquet"] {
        parquet(&folder.path().join(name), &batch, 1000)?;
    }
    let declared = Declared { episode: Some("plug".into()), ..Declared::default() };
    let (seen, _) = read(&open_declared(folder.path(), &declared)?);
    let ids: Vec<_> = seen.iter().map(|s| s.id.as_str()).collect();
    assert_eq!(ids, ["tray=a/3", "tray=b/3", "4"]);
    Ok(())
}
