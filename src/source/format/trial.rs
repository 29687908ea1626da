//! A trial format, to show what a new one takes: this file, and one line of the list.
//!
//! The first line is `trial`, then each row is `episode time follower follower leader leader`.

use std::sync::Arc;

use arrow::array::{ArrayRef, Float64Array, Int64Array};
use arrow::datatypes::{DataType, Field, Schema};
use arrow::record_batch::RecordBatch;

use crate::source::format::memory_table::MemoryTable;
use crate::source::format::packed;
use crate::source::format::table::Format;
use crate::source::read_error::ReadError;

/// Rows of text.
pub(super) static FORMAT: Format = Format {
    endings: &["trial"],
    alone: false,
    head: b"trial\n",
    tail: b"",
    refused: &[],
    open: |opening| MemoryTable::open(&FORMAT, &opening, || read(&packed::bytes(&opening)?)),
};

const NAMES: [&str; 6] =
    ["episode", "time", "state_waist", "state_elbow", "action_waist", "action_elbow"];

fn read(bytes: &[u8]) -> Result<RecordBatch, ReadError> {
    let text = std::str::from_utf8(bytes).map_err(|e| ReadError::columns(&e))?;
    let row = |line: &str| -> Result<Vec<f64>, ReadError> {
        let values = line.split_whitespace().map(str::parse::<f64>);
        values.collect::<Result<_, _>>().map_err(|e| ReadError::columns(&e))
    };
    let rows: Vec<Vec<f64>> = text.lines().skip(1).map(row).collect::<Result<_, _>>()?;
    let column = |(at, _): (usize, &&str)| -> ArrayRef {
        let values = rows.iter().map(|row| row.get(at).copied().unwrap_or(f64::NAN));
        if at == 0 {
            Arc::new(Int64Array::from_iter_values(values.map(|id| id as i64)))
        } else {
            Arc::new(Float64Array::from_iter_values(values))
        }
    };
    let field = |(at, name): (usize, &&str)| {
        Field::new(*name, if at == 0 { DataType::Int64 } else { DataType::Float64 }, false)
    };
    let fields: Vec<Field> = NAMES.iter().enumerate().map(field).collect();
    let columns = NAMES.iter().enumerate().map(column).collect();
    let batch = RecordBatch::try_new(Schema::new(fields).into(), columns);
    batch.map_err(|e| ReadError::columns(&e))
}

#[cfg(test)]
mod tests {
    use std::fmt::Write as _;

    use crate::source::{Dataset, Declared, Source};

    #[test]
    fn a_trial_format_is_read_from_end_to_end() -> Result<(), Box<dyn std::error::Error>> {
        let folder = tempfile::tempdir()?;
        let mut text = "trial\n".to_owned();
        for row in 0..60 {
            let (episode, time) = (row / 30, f64::from(row % 30) / 30.0);
            writeln!(text, "{episode} {time} {} 0.5 {} 0.25", time + 1.0, time + 2.0)?;
        }
        std::fs::write(folder.path().join("rows.trial"), text)?;
        let path = folder.path().display().to_string();
        let dataset = Dataset::open(&[path], &Declared::default())?;
        assert_eq!((dataset.episodes(), dataset.unread().len()), (2, 0));
        let names: Vec<_> = dataset.rig().joints.iter().map(|j| j.name.as_str()).collect();
        assert_eq!(names, ["waist", "elbow"]);
        let mut seen = Vec::new();
        for shard in 0..dataset.shards() {
            let unread = dataset.read(shard, &mut |episode| seen.push(episode.clone()));
            assert!(unread.is_empty(), "{unread:?}");
        }
        let [_, last] = seen.as_slice() else { return Err("two episodes".into()) };
        assert_eq!((last.key.id.as_str(), last.frames()), ("1", 30));
        let times = last.time_s.iter().zip(0..30);
        assert!(times.clone().all(|(time, row)| (time - f64::from(row) / 30.0).abs() < 1e-12));
        let waist = last.state.joint(0);
        assert!((waist[29] - (29.0 / 30.0 + 1.0)).abs() < 1e-6, "{waist:?}");
        let leader = last.action.as_ref().map(|action| action.joint(1)[0]);
        assert_eq!(leader, Some(0.25));
        Ok(())
    }
}
