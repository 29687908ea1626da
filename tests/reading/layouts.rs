//! One dataset in every layout.

use std::fs::File;

use arrow::ipc::CompressionType;
use arrow::ipc::writer::{FileWriter, IpcWriteOptions, StreamWriter};
use arrow::record_batch::RecordBatch;
use teleassay::source::Source;

use super::support::{
    JOINTS, Layout, Outcome, expected, open, parquet, read, recording, rows, table,
};

const LENGTHS: [usize; 5] = [700, 1, 333, 1200, 20];

#[test]
fn every_layout_gives_the_same_episodes() -> Outcome {
    let folder = tempfile::tempdir()?;
    let rows = rows(&LENGTHS);
    for layout in
        [Layout::List, Layout::LargeList, Layout::FixedSizeList, Layout::Struct, Layout::Scalars]
    {
        let path = folder.path().join(format!("{layout:?}.parquet"));
        parquet(&path, &table(&rows, layout)?, 500)?;
        let dataset = open(&path)?;
        let (seen, reasons) = read(&dataset);
        assert_eq!(reasons, Vec::<String>::new(), "{layout:?}");
        assert_eq!(seen, expected(&rows), "{layout:?}");
        let named = matches!(layout, Layout::Struct | Layout::Scalars);
        let names: Vec<_> = dataset.rig().joints.iter().map(|j| j.name.as_str()).collect();
        assert_eq!(names, if named { JOINTS } else { ["j0", "j1", "j2"] }, "{layout:?}");
        assert_eq!(dataset.rig().joints[2].gripper, named);
    }
    Ok(())
}

#[test]
fn row_groups_of_any_size_give_the_same_episodes() -> Outcome {
    let folder = tempfile::tempdir()?;
    let rows = rows(&[900; 60]);
    let mut rigs = Vec::new();
    for group in [500, 7_000, 100_000] {
        let path = folder.path().join(format!("{group}.parquet"));
        parquet(&path, &table(&rows, Layout::List)?, group)?;
        let dataset = open(&path)?;
        assert!(read(&dataset).0 == expected(&rows), "row groups of {group}");
        rigs.push(dataset.rig().clone());
    }
    assert!(rigs.windows(2).all(|pair| pair[0] == pair[1]));
    Ok(())
}

#[test]
fn one_file_per_episode_takes_ids_from_the_files() -> Outcome {
    let folder = tempfile::tempdir()?;
    let rows = rows(&[50; 12]);
    for (number, part) in rows.chunks(50).enumerate() {
        let path = folder.path().join(format!("{number}.parquet"));
        parquet(&path, &RecordBatch::try_from_iter(recording(part, Layout::List))?, 1000)?;
    }
    let (seen, _) = read(&open(folder.path())?);
    assert_eq!(seen, expected(&rows), "natural order: 2 before 10");
    Ok(())
}

#[test]
fn arrow_files_and_streams_are_read_compressed_or_not() -> Outcome {
    let folder = tempfile::tempdir()?;
    let rows = rows(&LENGTHS);
    let batch = table(&rows, Layout::FixedSizeList)?;
    let pieces: Vec<RecordBatch> = (0..batch.num_rows())
        .step_by(400)
        .map(|at| batch.slice(at, 400.min(batch.num_rows() - at)))
        .collect();
    let kinds = [None, Some(CompressionType::ZSTD), Some(CompressionType::LZ4_FRAME)];
    for (number, compression) in kinds.into_iter().enumerate() {
        let options = || IpcWriteOptions::default().try_with_compression(compression);
        let path = folder.path().join(format!("{number}.arrow"));
        let file = File::create(&path)?;
        let mut writer = FileWriter::try_new_with_options(file, &batch.schema(), options()?)?;
        pieces.iter().try_for_each(|piece| writer.write(piece))?;
        writer.finish()?;
        let (seen, reasons) = read(&open(&path)?);
        assert_eq!((seen, reasons), (expected(&rows), Vec::new()), "file, {compression:?}");

        // The ending says nothing: the first bytes decide.
        let path = folder.path().join(format!("{number}.bin"));
        let file = File::create(&path)?;
        let mut writer = StreamWriter::try_new_with_options(file, &batch.schema(), options()?)?;
        pieces.iter().try_for_each(|piece| writer.write(piece))?;
        writer.finish()?;
        let (seen, reasons) = read(&open(&path)?);
        assert_eq!((seen, reasons), (expected(&rows), Vec::new()), "stream, {compression:?}");
    }
    Ok(())
}
