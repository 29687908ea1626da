//! The whole reading path on one thread: open, index, survey, decode, hand over.
//!
//! 400 episodes of 600 frames, six joints a side, `list<float32>`, zstd; in one file, and in one
//! file per episode. Elements a second are frames a second.

use std::error::Error;
use std::fs::File;
use std::hint::black_box;
use std::path::Path;
use std::sync::Arc;

use arrow::array::{ArrayRef, Float32Array, Float64Array, Int64Array, ListArray};
use arrow::buffer::OffsetBuffer;
use arrow::datatypes::{DataType, Field};
use arrow::record_batch::RecordBatch;
use criterion::{Criterion, Throughput};
use parquet::arrow::ArrowWriter;
use parquet::basic::{Compression, ZstdLevel};
use parquet::file::properties::WriterProperties;
use teleassay::source::{Dataset, Declared, Source};

const EPISODES: usize = 400;
const FRAMES: usize = 600;
const JOINTS: usize = 6;

/// Rows of these episodes: a slow wave on each joint, in counts of a 12-bit encoder.
fn table(episodes: std::ops::Range<usize>) -> Result<RecordBatch, Box<dyn Error>> {
    let rows = || episodes.clone().flat_map(|e| (0..FRAMES).map(move |f| (e, f)));
    let vectors = |lag: f64| -> ArrayRef {
        let value = move |e: usize, f: usize, j: usize| {
            let phase = (f as f64 - lag) * (0.02 + 0.003 * j as f64) + e as f64;
            let count = std::f64::consts::TAU / 4096.0;
            ((phase.sin() / count).round() * count) as f32
        };
        let flat = rows().flat_map(move |(e, f)| (0..JOINTS).map(move |j| value(e, f, j)));
        let item = Arc::new(Field::new("item", DataType::Float32, true));
        let offsets = OffsetBuffer::from_repeated_length(JOINTS, episodes.len() * FRAMES);
        let flat = Arc::new(Float32Array::from_iter_values(flat));
        Arc::new(ListArray::new(item, offsets, flat, None))
    };
    let ids: ArrayRef =
        Arc::new(Int64Array::from_iter_values(rows().map(|(e, _)| e.cast_signed() as i64)));
    let time: ArrayRef =
        Arc::new(Float64Array::from_iter_values(rows().map(|(_, f)| f as f64 / 30.0)));
    let columns =
        [("episode", ids), ("time", time), ("follower", vectors(3.0)), ("leader", vectors(0.0))];
    Ok(RecordBatch::try_from_iter(columns)?)
}

fn write(path: &Path, batch: &RecordBatch) -> Result<(), Box<dyn Error>> {
    let properties = WriterProperties::builder()
        .set_compression(Compression::ZSTD(ZstdLevel::default()))
        .set_max_row_group_row_count(Some(100_000))
        .build();
    let mut writer = ArrowWriter::try_new(File::create(path)?, batch.schema(), Some(properties))?;
    writer.write(batch)?;
    writer.close()?;
    Ok(())
}

/// Frames seen in a dataset.
fn frames(path: &Path) -> Result<usize, Box<dyn Error>> {
    let paths = [path.to_string_lossy().into_owned()];
    let dataset = Dataset::open(&paths, &Declared::default())?;
    let mut frames = 0;
    for shard in 0..dataset.shards() {
        let unread = dataset.read(shard, &mut |episode| frames += black_box(episode).frames());
        assert!(unread.is_empty(), "{unread:?}");
    }
    Ok(frames)
}

fn main() -> Result<(), Box<dyn Error>> {
    let folder = tempfile::tempdir()?;
    let whole = folder.path().join("whole.parquet");
    write(&whole, &table(0..EPISODES)?)?;
    let parts = folder.path().join("parts");
    std::fs::create_dir(&parts)?;
    for episode in 0..EPISODES {
        write(&parts.join(format!("{episode}.parquet")), &table(episode..episode + 1)?)?;
    }
    let mut criterion = Criterion::default().configure_from_args();
    let mut group = criterion.benchmark_group("read");
    group.throughput(Throughput::Elements((EPISODES * FRAMES) as u64));
    for (name, path) in [("one file", &whole), ("one file per episode", &parts)] {
        assert_eq!(frames(path)?, EPISODES * FRAMES);
        group.bench_function(name, |bencher| bencher.iter(|| frames(path).unwrap_or(0)));
    }
    group.finish();
    criterion.final_summary();
    Ok(())
}
