//! Bad input through the binary: one clear line that names the file (and episode and column) and
//! the way out, and the right exit code. One bad file among good ones is reported, the rest
//! audited.

use std::error::Error;
use std::path::Path;
use std::sync::Arc;

use arrow::array::{
    Array, ArrayRef, AsArray, Float32Array, Float64Array, RecordBatch, new_null_array,
};
use arrow::datatypes::Float64Type;
use serde_json::Value;

use crate::support::binary::{Tested, run, said, scorecard};
use crate::support::card::{findings, list, not_assessed, value};
use crate::support::tables::{parquet, relisted, session, with, without};

/// Audits and expects to be refused: the exit code, and what one line must say.
fn refused(path: &Path, code: i32, words: &[&str]) -> Tested {
    let output = run(&["audit".as_ref(), path.as_os_str()])?;
    let text = said(&output);
    assert_eq!(output.status.code(), Some(code), "{text}");
    assert!(output.stdout.is_empty(), "{text}");
    let mut lines = text.lines();
    let line = lines.next().unwrap_or_default();
    assert!(line.starts_with("error: "), "{text}");
    assert!(lines.all(|line| line.starts_with("hint: ")), "{text}");
    assert!(line.len() < 1200, "{text}");
    for word in words {
        assert!(text.contains(word), "{word:?} is not in: {text}");
    }
    Ok(())
}

/// Audits a folder of one table.
fn audited(batch: &RecordBatch) -> Result<Value, Box<dyn Error>> {
    let dir = tempfile::tempdir()?;
    parquet(&dir.path().join("t.parquet"), batch)?;
    scorecard(&[dir.path()])
}

#[test]
fn nothing_to_check_is_three() -> Tested {
    let dir = tempfile::tempdir()?;
    let here = dir.path().to_string_lossy().into_owned();
    refused(dir.path(), 3, &[&here, "holds no tables", "*.parquet"])?;
    std::fs::write(dir.path().join("notes.txt"), "no table")?;
    refused(dir.path(), 3, &[&here, "holds no tables"])?;
    parquet(&dir.path().join("none.parquet"), &session(1)?.slice(0, 0))?;
    refused(dir.path(), 3, &["none.parquet", "holds no rows"])
}

#[test]
fn a_file_that_is_no_table_is_two() -> Tested {
    let dir = tempfile::tempdir()?;
    let path = dir.path().join("t.parquet");
    std::fs::write(&path, b"episode,time\n1,2\n")?;
    refused(dir.path(), 2, &["t.parquet", "is no format that is read", "convert it first"])?;
    parquet(&path, &session(2)?)?;
    let bytes = std::fs::read(&path)?;
    std::fs::write(&path, &bytes[..bytes.len() / 2])?;
    refused(dir.path(), 2, &["t.parquet", "footer cannot be read", "copy or record it again"])
}

#[test]
fn one_bad_file_among_good_ones_is_reported_and_the_rest_audited() -> Tested {
    let dir = tempfile::tempdir()?;
    let (good, bad) = (dir.path().join("a.parquet"), dir.path().join("b.parquet"));
    parquet(&good, &session(2)?)?;
    let bytes = std::fs::read(&good)?;
    std::fs::write(&bad, &bytes[..bytes.len() / 2])?;
    let output = run(&["audit".as_ref(), dir.path().as_os_str(), "--fail-on=never".as_ref()])?;
    assert_eq!(output.status.code(), Some(1), "what was not read was not checked");
    let text = String::from_utf8(output.stdout)?;
    assert!(text.contains("not read: ") && text.contains("b.parquet"), "{text}");
    assert!(text.contains("footer cannot be read"), "{text}");
    let card = scorecard(&[dir.path()])?;
    assert_eq!(list(&card, "episodes").len(), 2);
    let unread = list(&card, "unread");
    assert_eq!(unread.len(), 1);
    assert!(unread[0]["path"].as_str().is_some_and(|path| path.ends_with("b.parquet")));
    assert!(unread[0]["reason"].as_str().is_some_and(|r| r.contains("copy or record it again")));
    Ok(())
}

/// The data library answers some damage with a panic. None of that may show.
#[test]
fn damage_in_an_arrow_file_prints_no_trace() -> Tested {
    let dir = tempfile::tempdir()?;
    let path = dir.path().join("t.arrows");
    let batch = session(2)?;
    let mut sound = Vec::new();
    let mut writer = arrow::ipc::writer::StreamWriter::try_new(&mut sound, &batch.schema())?;
    writer.write(&batch)?;
    writer.finish()?;
    let mut refusals = 0;
    // The lengths and offsets of the batch lie behind the schema, in its first kilobytes.
    for at in (600..3000).step_by(40) {
        let mut bytes = sound.clone();
        bytes[at..at + 8].fill(0x5b);
        std::fs::write(&path, bytes)?;
        let output = run(&["audit".as_ref(), path.as_os_str()])?;
        let text = said(&output);
        assert!(matches!(output.status.code(), Some(0..=3)), "byte {at}: {text}");
        assert!(text.lines().count() <= 2 && !text.contains("panicked"), "byte {at}: {text}");
        if output.status.code() == Some(2) {
            refusals += 1;
            assert!(text.contains("t.arrows") && text.contains("record it again"), "{text}");
        }
    }
    assert!(refusals > 3, "{refusals}");
    Ok(())
}

#[test]
fn roles_that_cannot_be_cast_are_two_and_name_the_line_that_decides() -> Tested {
    let dir = tempfile::tempdir()?;
    let path = dir.path().join("t.parquet");
    let batch = session(2)?;
    for (column, looks_like, line) in
        [("follower", "follower", "[columns] state ="), ("time", "time", "[columns] time =")]
    {
        parquet(&path, &without(&batch, column)?)?;
        refused(dir.path(), 2, &["t.parquet", "no column", looks_like, "\"leader\"", line])?;
    }
    let state = batch.column_by_name("follower").ok_or("no follower")?;
    parquet(&path, &with(&batch, "state", state)?)?;
    refused(
        dir.path(),
        2,
        &["t.parquet", "\"follower\" and \"state\"", "[columns] state = [\"follower\"]"],
    )
}

#[test]
fn an_all_null_column_is_named() -> Tested {
    let dir = tempfile::tempdir()?;
    let path = dir.path().join("t.parquet");
    let batch = session(2)?;
    let null = |name: &str| -> Result<ArrayRef, Box<dyn Error>> {
        let kind = batch.column_by_name(name).ok_or("no such column")?.data_type().clone();
        Ok(new_null_array(&kind, batch.num_rows()))
    };
    parquet(&path, &with(&batch, "follower", &null("follower")?)?)?;
    refused(dir.path(), 2, &["t.parquet", "\"follower\"", "null or empty", "[columns] state ="])?;
    // Without stamps the rest can still be looked at, and the stamps are a fault.
    let card = audited(&with(&batch, "time", &null("time")?)?)?;
    assert_eq!(card["session"]["verdict"], "fail");
    for episode in list(&card, "episodes") {
        assert!(!findings(episode, "missing-values").is_empty());
        for check in ["dropped-frames", "timestamp-jitter", "non-monotonic-time", "frame-rate"] {
            assert!(not_assessed(episode, check).is_some(), "{check}");
        }
    }
    let card = audited(&with(&batch, "leader", &null("leader")?)?)?;
    assert_eq!(card["session"]["verdict"], "fail");
    Ok(())
}

#[test]
fn vectors_of_other_widths_are_counted_with_their_episode() -> Tested {
    let batch = session(2)?;
    let ragged = relisted(&batch, "follower", |row, mut values| {
        match row {
            10 => values.truncate(4),
            11 => values.push(1.0),
            _ => {}
        }
        Some(values)
    })?;
    let card = audited(&with(&batch, "follower", &ragged)?)?;
    let episode = &card["episodes"][0];
    assert_eq!(value(episode, "missing-values", "ragged_rows"), 2.0);
    assert!(!findings(episode, "missing-values").is_empty());
    assert_eq!(value(&card["episodes"][1], "missing-values", "ragged_rows"), 0.0);
    // A whole file of another width is left out, with both widths.
    let dir = tempfile::tempdir()?;
    parquet(&dir.path().join("a.parquet"), &batch)?;
    let narrow = relisted(&batch, "follower", |_, values| Some(values[..3].to_vec()))?;
    parquet(
        &dir.path().join("b.parquet"),
        &with(&batch.slice(0, 200), "follower", &narrow.slice(0, 200))?,
    )?;
    let card = scorecard(&[dir.path()])?;
    let reason = card["different_columns"][0]["reason"].as_str().unwrap_or_default();
    assert!(
        reason.contains("follower") && reason.contains('3') && reason.contains('6'),
        "{reason}"
    );
    Ok(())
}

#[test]
fn one_frame_is_an_episode_of_which_little_can_be_said() -> Tested {
    let card = audited(&session(1)?.slice(0, 1))?;
    let episode = &card["episodes"][0];
    assert_eq!(episode["frames"], 1);
    for check in ["dropped-frames", "timestamp-jitter", "frame-rate", "non-monotonic-time"] {
        assert!(not_assessed(episode, check).is_some(), "{check}");
        let measured = list(episode, "readings").iter().filter(|r| r["check"] == check).count();
        assert_eq!(measured, 0, "{check}");
    }
    Ok(())
}

#[test]
fn stamps_that_are_no_number_are_counted_in_their_episode() -> Tested {
    let batch = session(2)?;
    let time = batch.column_by_name("time").ok_or("no time")?.as_primitive::<Float64Type>();
    let mut stamps: Vec<f64> = time.values().to_vec();
    for at in [5, 50, 51] {
        stamps[at] = f64::NAN;
    }
    let stamps: ArrayRef = Arc::new(Float64Array::from(stamps));
    let card = audited(&with(&batch, "time", &stamps)?)?;
    let episode = &card["episodes"][0];
    assert_eq!(value(episode, "missing-values", "missing_stamps"), 3.0);
    assert!(!findings(episode, "missing-values").is_empty());
    // A frame without a stamp is no lost frame.
    assert_eq!(value(episode, "dropped-frames", "dropped_frames"), 0.0);
    assert_eq!(value(&card["episodes"][1], "missing-values", "missing_stamps"), 0.0);
    Ok(())
}

#[test]
fn ten_thousand_columns_are_no_trouble_and_no_long_message() -> Tested {
    let batch = session(1)?;
    let zero: ArrayRef = Arc::new(Float32Array::from(vec![0.0; batch.num_rows()]));
    let schema = batch.schema();
    let own = schema.fields().iter().zip(batch.columns());
    let mut named: Vec<(String, ArrayRef)> =
        own.map(|(field, column)| (field.name().clone(), Arc::clone(column))).collect();
    named.extend((0..10_000).map(|i| (format!("sensor_{i}"), Arc::clone(&zero))));
    let wide = RecordBatch::try_from_iter(named)?;
    let card = audited(&wide)?;
    assert_eq!(card["session"]["episodes"], 1);
    let dir = tempfile::tempdir()?;
    parquet(&dir.path().join("t.parquet"), &without(&wide, "follower")?)?;
    refused(dir.path(), 2, &["t.parquet", "no column", "more"])
}

/// A link to itself can be opened by nobody; a file without permissions by root alone.
#[cfg(unix)]
#[test]
fn a_file_that_may_not_be_read_is_reported() -> Tested {
    use std::os::unix::fs::{MetadataExt, PermissionsExt, symlink};
    let dir = tempfile::tempdir()?;
    let path = dir.path().join("t.parquet");
    symlink(&path, &path)?;
    refused(&path, 2, &["t.parquet", "symbolic links"])?;
    let dir = tempfile::tempdir()?;
    let path = dir.path().join("t.parquet");
    parquet(&path, &session(1)?)?;
    std::fs::set_permissions(&path, std::fs::Permissions::from_mode(0o000))?;
    if std::fs::metadata(&path)?.uid() == 0 {
        let output = run(&["audit".as_ref(), path.as_os_str()])?;
        assert_ne!(output.status.code(), Some(2), "root may: {}", said(&output));
        return Ok(());
    }
    refused(dir.path(), 2, &["t.parquet", "ermission"])
}
