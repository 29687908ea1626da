//! A fault of the rig is certain early, and a sound rig is never stopped.

use std::error::Error;
use std::fs;

use super::running::{Place, Watching, writer};
use crate::support::binary::Tested;
use crate::support::tables::{parquet, relisted, with};
use arrow::array::{AsArray as _, RecordBatch};
use arrow::datatypes::Int64Type;

/// A planted offset of 4 degrees on one joint.
const OFFSET_DEG: f32 = 4.0;

/// A sound session with the offset in the episodes of a range.
fn session(
    place: &Place,
    planted: std::ops::Range<i64>,
) -> Result<std::path::PathBuf, Box<dyn Error>> {
    // Its profile names the joints.
    place.demo(1)?;
    let batch = crate::support::tables::session(24)?;
    let batch = shifted(&batch, planted)?;
    let path = place.file("sound.parquet");
    parquet(&path, &batch)?;
    Ok(path)
}

fn shifted(
    batch: &RecordBatch,
    planted: std::ops::Range<i64>,
) -> Result<RecordBatch, Box<dyn Error>> {
    let ids = batch.column_by_name("episode").ok_or("no episode")?;
    let ids = ids.as_primitive::<Int64Type>().values().clone();
    let follower = relisted(batch, "follower", |row, mut values| {
        values[2] += if planted.contains(&ids[row]) { OFFSET_DEG } else { 0.0 };
        Some(values)
    })?;
    with(batch, "follower", &follower)
}

#[test]
fn a_planted_offset_stops_the_session_by_the_sixth_episode_and_its_end_is_said() -> Tested {
    let place = Place::new()?;
    let table = session(&place, 0..10)?;
    let watching = Watching::start(&place, &["--bell", "--exec", "sh -c 'echo did {verdict}'"])?;
    let mut writer = writer(&table, &place.folder, "renamed", 0.1, 24)?;
    watching.until(24)?;
    assert!(writer.wait()?.success());
    let ended = watching.end()?;
    let lines: Vec<&str> = ended.lines.lines().collect();
    let stop = lines.iter().position(|line| line.contains("STOP: fix the rig first"));
    let stop = stop.ok_or_else(|| ended.lines.clone())?;
    assert!(
        lines[stop].contains("elbow neutral offset") && lines[stop].contains(" deg"),
        "{}",
        lines[stop]
    );
    let before = lines[..stop].iter().filter(|line| line.contains("  ep ")).count();
    assert!((5..=6).contains(&before), "stopped after {before} episodes: {}", ended.lines);
    assert_eq!(lines.iter().filter(|line| line.contains("STOP")).count(), 1, "{}", ended.lines);
    let cleared = lines.iter().position(|line| line.contains("no elbow neutral offset"));
    assert!(cleared.is_some_and(|at| at > stop), "{}", ended.lines);
    assert!(ended.errors.contains('\u{7}'), "no bell: {}", ended.errors);
    assert!(
        ended.errors.contains("did stop") && ended.errors.contains("did warn"),
        "{}",
        ended.errors
    );
    fs::metadata(&place.folder)?;
    Ok(())
}

#[test]
fn an_offset_that_comes_in_the_middle_is_found_within_six_episodes() -> Tested {
    let place = Place::new()?;
    let table = session(&place, 14..24)?;
    let watching = Watching::start(&place, &[])?;
    let mut writer = writer(&table, &place.folder, "renamed", 0.1, 24)?;
    watching.until(24)?;
    assert!(writer.wait()?.success());
    let ended = watching.end()?;
    let lines: Vec<&str> = ended.lines.lines().collect();
    let stop =
        lines.iter().position(|line| line.contains("STOP")).ok_or_else(|| ended.lines.clone())?;
    let before = lines[..stop].iter().filter(|line| line.contains("  ep ")).count();
    assert!((18..=20).contains(&before), "stopped after {before} episodes: {}", ended.lines);
    Ok(())
}
