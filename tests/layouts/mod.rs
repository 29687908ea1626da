//! One session in every layout, cut in any way, read by any number of threads: one scorecard,
//! byte for byte, but for the names of files and columns.

mod converted;
mod files;
mod text;

use std::error::Error;
use std::path::Path;

use serde_json::Value;
use teleassay::demo::{Fault, Layout, Recipe, WriteOptions, write};

use crate::support::binary::{Tested, scorecard};

/// Twelve episodes, enough for the checks across a session, with faults of every kind of reading.
fn recipe() -> Recipe {
    Recipe { episodes: 12, seed: 5, ..Recipe::default() }
        .with(Fault::DroppedFrames { share: 0.05, burst: 2 }, None, &[1])
        .with(Fault::MissingValues { share: 0.02, run: 3 }, Some("elbow"), &[3])
        .with(Fault::LagJoint { ms: 250.0 }, Some("shoulder"), &[5])
        .with(Fault::DeadJoint, Some("waist"), &[7])
        .with(Fault::RepeatedFrames { share: 0.02 }, None, &[8])
        .with(Fault::LimitDwell { push_deg: 9.0, stop_deg: None }, Some("wrist_roll"), &[9])
        .with(Fault::Outlier { reach: 2.6 }, None, &[11])
}

/// The scorecard without what names files and columns.
fn bare(dir: &Path, threads: &str) -> Result<String, Box<dyn Error>> {
    let mut card = scorecard(&[dir.as_os_str(), "--threads".as_ref(), threads.as_ref()])?;
    assert_eq!(card["unread"], Value::Array(Vec::new()));
    assert_eq!(card["session"]["episodes"], 12);
    let whole = card.as_object_mut().ok_or("no object")?;
    whole.shift_remove("inputs");
    whole.shift_remove("columns");
    // Episodes by file are what the files make of them.
    whole["session"].as_object_mut().ok_or("no session")?.shift_remove("breakdowns");
    let episodes = whole.get_mut("episodes").and_then(Value::as_array_mut).ok_or("no episodes")?;
    for episode in episodes {
        episode.as_object_mut().ok_or("no object")?.shift_remove("source");
    }
    Ok(serde_json::to_string_pretty(&card)?)
}

fn same(one: &str, other: &str, what: &str) {
    let apart = one.lines().zip(other.lines()).position(|(x, y)| x != y);
    let line = |text: &str| apart.and_then(|at| text.lines().nth(at)).unwrap_or("").to_owned();
    assert!(one == other, "{what}, line {apart:?}:\n{}\n{}", line(one), line(other));
}

#[test]
fn all_layouts_give_the_same_scorecard() -> Tested {
    let mut first: Option<String> = None;
    for layout in Layout::ALL {
        for null_if_missing in [false, true] {
            let dir = tempfile::tempdir()?;
            let options = WriteOptions { layout, null_if_missing, ..WriteOptions::default() };
            write(dir.path(), &recipe(), &options)?;
            let card = bare(dir.path(), "2")?;
            let first = first.get_or_insert_with(|| card.clone());
            same(first, &card, &format!("{layout:?}, nulls: {null_if_missing}"));
        }
    }
    assert!(first.is_some_and(|card| card.contains("dead-joint") && card.contains("spans")));
    Ok(())
}

#[test]
fn row_groups_files_and_threads_change_nothing() -> Tested {
    let mut first: Option<String> = None;
    for (row_group_rows, episodes_per_file) in [(100_000, 12), (500, 12), (500, 5), (37, 1)] {
        let dir = tempfile::tempdir()?;
        let options = WriteOptions { row_group_rows, episodes_per_file, ..WriteOptions::default() };
        write(dir.path(), &recipe(), &options)?;
        for threads in ["1", "2", "5"] {
            let card = bare(dir.path(), threads)?;
            let first = first.get_or_insert_with(|| card.clone());
            let what = format!("row groups of {row_group_rows}, {episodes_per_file} a file");
            same(first, &card, &format!("{what}, {threads} threads"));
        }
    }
    Ok(())
}
