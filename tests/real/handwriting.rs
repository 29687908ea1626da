//! Demonstrations by people, resampled by their publisher onto exactly even stamps: 30 patterns,
//! seven demonstrations each.

use std::error::Error;
use std::fs::File;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use arrow::array::{ArrayRef, RecordBatch, StringArray};
use parquet::arrow::ArrowWriter;
use parquet::arrow::arrow_reader::ParquetRecordBatchReaderBuilder;
use serde_json::Value;

use super::{audit, fixtures};
use crate::support::binary::{Tested, scorecard};
use crate::support::card::{findings, list, not_assessed, reading};
use crate::support::python::real;

pub(super) fn patterns() -> Result<Vec<PathBuf>, Box<dyn Error>> {
    let mut files = Vec::new();
    for entry in std::fs::read_dir(real()?.join("handwriting"))? {
        files.push(entry?.path());
    }
    files.sort();
    assert_eq!(files.len(), 30);
    Ok(files)
}

/// Even stamps are no evidence of a good clock, and no evidence is never a pass.
#[test]
fn timing_is_not_assessable_and_nothing_is_invented() -> Tested {
    for file in patterns()? {
        let name = file.file_name().unwrap_or_default().to_string_lossy().into_owned();
        let card = audit(&format!("handwriting/{name}"), "handwriting")?;
        let episodes = list(&card, "episodes");
        assert_eq!(episodes.len(), 7, "{name}");
        for episode in episodes {
            for check in ["dropped-frames", "timestamp-jitter", "frame-rate"] {
                let reason =
                    not_assessed(episode, check).ok_or_else(|| format!("{name}: {check}"))?;
                assert!(reason.contains("made, not measured"), "{name}: {reason}");
            }
            // Seven metrics of timing are judged; none of them may have a reading to pass.
            for (check, metric) in [
                ("dropped-frames", "dropped_share"),
                ("dropped-frames", "dropped_in_a_row"),
                ("dropped-frames", "longest_gap"),
                ("timestamp-jitter", "jitter_share"),
                ("frame-rate", "rate_deviation"),
            ] {
                assert_eq!(reading(episode, check, metric, None), None, "{name}: {metric}");
            }
            let jitter_s = reading(episode, "timestamp-jitter", "jitter_p95", None);
            assert!(jitter_s.is_some_and(|j| j < 1e-9), "{name}: {jitter_s:?}");
            for check in ["repeated-frames", "non-monotonic-time", "missing-values", "limit-dwell"]
            {
                assert!(findings(episode, check).is_empty(), "{name}: {check}");
            }
            assert_ne!(episode["verdict"], "fail", "{name}");
        }
    }
    Ok(())
}

/// The rows of a pattern's table, under another episode id.
pub(super) fn renamed(path: &Path, prefix: &str) -> Result<RecordBatch, Box<dyn Error>> {
    let reader = ParquetRecordBatchReaderBuilder::try_new(File::open(path)?)?;
    let rows = reader.metadata().file_metadata().num_rows() as usize;
    let mut batches = reader.with_batch_size(rows).build()?;
    let batch = batches.next().ok_or("an empty table")??;
    let place = batch.schema().index_of("episode")?;
    let ids = arrow::compute::cast(batch.column(place), &arrow::datatypes::DataType::Utf8)?;
    let ids: &StringArray = arrow::array::AsArray::as_string(&ids);
    let ids: StringArray = ids.iter().map(|id| id.map(|id| format!("{prefix}-{id}"))).collect();
    let column = |at: usize| -> ArrayRef {
        if at == place { Arc::new(ids.clone()) } else { Arc::clone(batch.column(at)) }
    };
    let schema = batch.schema();
    let named = schema.fields().iter().enumerate().map(|(at, f)| (f.name().clone(), column(at)));
    Ok(RecordBatch::try_from_iter(named)?)
}

/// Writes the rows into one table.
pub(super) fn write(table: &Path, parts: &[RecordBatch]) -> Tested {
    let mut writer = ArrowWriter::try_new(File::create(table)?, parts[0].schema(), None)?;
    for part in parts {
        writer.write(part)?;
    }
    writer.close()?;
    Ok(())
}

fn together(dir: &Path, parts: &[RecordBatch]) -> Result<Value, Box<dyn Error>> {
    let table = dir.join("mixed.parquet");
    write(&table, parts)?;
    let profile = fixtures().join("handwriting.toml");
    scorecard(&[table.as_os_str(), "--profile".as_ref(), profile.as_os_str()])
}

fn outlier_reason(card: &Value) -> Option<&str> {
    let not_assessed = list(&card["session"], "not_assessed");
    not_assessed.iter().find(|h| h["check"] == "outlier-episode").and_then(|h| h["reason"].as_str())
}

/// Seven demonstrations of one pattern and one of another: too few episodes for the outlier check,
/// which must say so, not call all of them alike.
#[test]
fn eight_episodes_are_too_few_to_call_one_odd() -> Tested {
    let real = real()?.join("handwriting");
    let dir = tempfile::tempdir()?;
    let line = renamed(&real.join("Line.parquet"), "line")?;
    let worm = renamed(&real.join("Worm.parquet"), "worm")?.slice(0, 1000);
    let card = together(dir.path(), &[line, worm])?;
    assert_eq!(list(&card, "episodes").len(), 8);
    let reason = outlier_reason(&card).ok_or("outlier-episode said something at 8 episodes")?;
    assert!(reason.contains("8 episodes, needs at least 10"), "{reason}");
    for episode in list(&card, "episodes") {
        assert!(findings(episode, "outlier-episode").is_empty());
    }
    Ok(())
}
