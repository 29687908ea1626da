//! Stamps of every type, and episodes by text.

use std::sync::Arc;

use arrow::array::{
    Array, ArrayRef, DictionaryArray, DurationMicrosecondArray, Float16Array, Float32Array,
    Int32Array, Int64Array, StringArray, TimestampMillisecondArray, TimestampNanosecondArray,
    UInt64Array,
};
use arrow::compute::cast;
use arrow::datatypes::{DataType, Int8Type};
use arrow::record_batch::RecordBatch;
use teleassay::model::ClockStorage;
use teleassay::source::{Declared, Source, TimeUnit};

use super::support::{
    Layout, Outcome, expected, open, open_declared, parquet, read, recording, refusal, rows,
};

fn with_time(name: &str, time: ArrayRef) -> Result<RecordBatch, Box<dyn std::error::Error>> {
    let all = rows(&[200]);
    let mut columns = recording(&all, Layout::List);
    columns[0] = (name.to_string(), time);
    Ok(RecordBatch::try_from_iter(columns)?)
}

#[test]
fn whole_numbers_and_timestamps_become_the_same_seconds() -> Outcome {
    let folder = tempfile::tempdir()?;
    let ticks = |per_frame: i64| (0..200).map(move |i| i * per_frame);
    let cases: Vec<(&str, ArrayRef, f64)> = vec![
        ("time", Arc::new(Int64Array::from_iter_values(ticks(20))), 1e-3),
        ("time", Arc::new(Int32Array::from_iter_values((0..200).map(|i| i * 20_000))), 1e-6),
        ("time", Arc::new(UInt64Array::from_iter_values((0..200).map(|i| i * 20_000_000))), 1e-9),
        ("stamp_us", Arc::new(Int64Array::from_iter_values(ticks(20_000))), 1e-6),
        ("stamp", Arc::new(TimestampMillisecondArray::from_iter_values(ticks(20))), 1e-3),
        ("stamp", Arc::new(TimestampNanosecondArray::from_iter_values(ticks(20_000_000))), 1e-9),
        ("t", Arc::new(DurationMicrosecondArray::from_iter_values(ticks(20_000))), 1e-6),
    ];
    let wanted: Vec<f64> = (0..200).map(|i| f64::from(i) * 20.0 / 1000.0).collect();
    for (number, (name, array, tick_s)) in cases.into_iter().enumerate() {
        let kind = array.data_type().clone();
        let path = folder.path().join(format!("{number}.parquet"));
        parquet(&path, &with_time(name, array)?, 1000)?;
        let dataset = open(&path)?;
        assert_eq!(dataset.rig().clock, ClockStorage::Ticks { tick_s }, "{name} {kind}");
        assert!((dataset.rig().period_s - 0.02).abs() < 1e-12, "{name} {kind}");
        assert_eq!(read(&dataset).0[0].time_s(), wanted, "{name} {kind}");
    }
    Ok(())
}

#[test]
fn floats_keep_their_precision_in_mind() -> Outcome {
    let folder = tempfile::tempdir()?;
    let path = folder.path().join("narrow.parquet");
    let time = Float32Array::from_iter_values((0..200).map(|i| i as f32 * 0.02));
    parquet(&path, &with_time("time", Arc::new(time))?, 1000)?;
    let clock = open(&path)?.rig().clock;
    assert_eq!(clock, ClockStorage::Float { precision_bits: 24, scale_s: 1.0 });

    let time = Float16Array::from_iter_values([]);
    assert_eq!(time.len(), 0);
    let narrow = Float32Array::from_iter_values((0..200).map(|i| (i % 64) as f32 * 0.25));
    let path = folder.path().join("half.parquet");
    parquet(&path, &with_time("time", cast(&narrow, &DataType::Float16)?)?, 1000)?;
    let dataset = open(&path)?;
    assert_eq!(read(&dataset).0[0].time_s()[5], 1.25);

    let declared = Declared { time_unit: Some(TimeUnit::Milli), ..Declared::default() };
    let path = folder.path().join("millis.parquet");
    let time = Int64Array::from_iter_values((0..200).map(|i| i * 2));
    parquet(&path, &with_time("time", Arc::new(time))?, 1000)?;
    // A difference of two float64 stamps is rounded.
    assert!((open_declared(&path, &declared)?.rig().period_s - 0.002).abs() < 1e-12);
    Ok(())
}

#[test]
fn without_stamps_the_rate_counts_the_frames() -> Outcome {
    let folder = tempfile::tempdir()?;
    let path = folder.path().join("clockless.parquet");
    let columns = recording(&rows(&[100]), Layout::List).split_off(1);
    parquet(&path, &RecordBatch::try_from_iter(columns)?, 1000)?;
    assert!(refusal(open(&path)).contains("--rate"));
    let declared = Declared { rate_hz: Some(25.0), ..Declared::default() };
    let dataset = open_declared(&path, &declared)?;
    assert_eq!((dataset.rig().clock, dataset.rig().period_s), (ClockStorage::None, 0.04));
    assert_eq!(read(&dataset).0[0].time_s()[10], 0.4);
    Ok(())
}

#[test]
fn episodes_go_by_text_or_any_whole_number() -> Outcome {
    let folder = tempfile::tempdir()?;
    let all = rows(&[30, 20, 50]);
    let numbers: Vec<i64> = all.iter().map(|r| r.episode).collect();
    let texts: Vec<String> = numbers.iter().map(ToString::to_string).collect();
    let whole: ArrayRef = Arc::new(Int64Array::from(numbers));
    let text: ArrayRef = Arc::new(StringArray::from(texts.clone()));
    let dictionary: DictionaryArray<Int8Type> = texts.iter().map(String::as_str).collect();
    let cases: Vec<(&str, ArrayRef)> = vec![
        ("run", text.clone()),
        ("take_id", cast(&text, &DataType::LargeUtf8)?),
        ("episode_index", cast(&whole, &DataType::Int16)?),
        ("episode", cast(&whole, &DataType::UInt64)?),
        ("episode", Arc::new(dictionary)),
    ];
    for (number, (name, episode)) in cases.into_iter().enumerate() {
        let kind = episode.data_type().clone();
        let mut columns = vec![(name.to_string(), episode)];
        columns.extend(recording(&all, Layout::List));
        let path = folder.path().join(format!("{number}.parquet"));
        // Row groups of one episode are settled by statistics, the others are decoded.
        parquet(&path, &RecordBatch::try_from_iter(columns)?, 10)?;
        assert_eq!(read(&open(&path)?).0, expected(&all), "{name} {kind}");
    }
    Ok(())
}
