//! Two flight logs of an aircraft, 25 Hz: one with real losses and an independent witness of
//! them, one without.

use std::error::Error;
use std::fs::File;
use std::path::Path;

use arrow::array::AsArray;
use arrow::datatypes::Float64Type;
use parquet::arrow::arrow_reader::ParquetRecordBatchReaderBuilder;
use serde_json::Value;

use super::{audit, close_ms, expected, numbers};
use crate::support::binary::Tested;
use crate::support::card::{findings, list, value};
use crate::support::python::real;

/// The log's first stamp.
fn origin_s(path: &Path) -> Result<f64, Box<dyn Error>> {
    let mut batches = ParquetRecordBatchReaderBuilder::try_new(File::open(path)?)?.build()?;
    let batch = batches.next().ok_or("an empty table")??;
    let time = batch.column_by_name("time_s").ok_or("no column time_s")?;
    Ok(time.as_primitive::<Float64Type>().value(0))
}

/// 70 by `round(step / median) - 1`, recomputed with numpy from the archive.
#[test]
fn seventy_frames_are_missing() -> Tested {
    let (card, expected) = (audit("flight-1.parquet", "flight-1")?, expected("flight-1")?);
    let episode = &card["episodes"][0];
    let dropped = value(episode, "dropped-frames", "dropped_frames");
    assert_eq!(Some(dropped), expected["missing"]["value"].as_f64());
    close_ms(&expected, "max_step_ms", value(episode, "dropped-frames", "longest_gap"));
    close_ms(&expected, "min_step_ms", value(episode, "timestamp-jitter", "step_min"));
    assert_eq!(value(episode, "repeated-frames", "repeated_frames"), 0.0);
    Ok(())
}

/// The logger kept a counter of the writes that it rejected. It steps up within a second of each
/// long gap.
#[test]
fn the_four_long_gaps_lie_where_the_loggers_own_counter_steps() -> Tested {
    let (card, expected) = (audit("flight-1.parquet", "flight-1")?, expected("flight-1")?);
    let origin_s = origin_s(&real()?.join("flight-1.parquet"))?;
    let counter = std::fs::read_to_string(real()?.join("flight-1-counter.json"))?;
    let counter: Value = serde_json::from_str(&counter)?;
    let found = findings(&card["episodes"][0], "dropped-frames");
    let spans: Vec<(u64, f64, f64)> = list(found[0], "spans")
        .iter()
        .filter_map(|span| {
            let at = |end: usize| span["time_s"][end].as_f64();
            Some((span["frames"][0].as_u64()?, at(0)? + origin_s, at(1)? + origin_s))
        })
        .filter(|(_, start, end)| end - start > 0.2)
        .collect();
    assert_eq!(spans.len(), 4, "{spans:?}");
    let lengths = numbers(&expected, "long_gap_ms");
    let starts = numbers(&expected, "long_gap_start_s");
    let steps = list(&counter, "steps");
    assert_eq!((lengths.len(), starts.len(), steps.len()), (4, 4, 4));
    for (at, (frame, start_s, end_s)) in spans.iter().enumerate() {
        assert!(((end_s - start_s) * 1e3 - lengths[at]).abs() < 0.5, "{spans:?}");
        assert!((start_s - starts[at]).abs() < 1e-6, "{spans:?}");
        assert_eq!(expected["long_gap_frames"]["value"][at][0], *frame);
        let stepped = |key: &str| steps[at][key].as_f64().unwrap_or(f64::NAN);
        assert!(end_s + 1.0 >= stepped("after_s") && start_s - 1.0 <= stepped("time_s"), "{at}");
    }
    Ok(())
}

/// `duration / median step - rows` would invent 66 missing frames here.
#[test]
fn a_sound_log_has_no_lost_frame_and_no_jitter() -> Tested {
    let (card, expected) = (audit("flight-2.parquet", "flight-2")?, expected("flight-2")?);
    let episode = &card["episodes"][0];
    assert_eq!(value(episode, "dropped-frames", "dropped_frames"), 0.0);
    for check in ["dropped-frames", "repeated-frames", "timestamp-jitter", "non-monotonic-time"] {
        assert!(findings(episode, check).is_empty(), "{check}");
    }
    let step = |metric| value(episode, "timestamp-jitter", metric);
    close_ms(&expected, "median_step_ms", step("step_median"));
    close_ms(&expected, "std_step_ms", step("step_std"));
    close_ms(&expected, "max_step_ms", step("step_max"));
    Ok(())
}
