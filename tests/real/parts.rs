//! What people showed seven times each, dealt into two sessions: one person's ways of one pattern are
//! not called different, two patterns are.

use std::error::Error;
use std::path::Path;

use arrow::array::RecordBatch;
use serde_json::Value;

use super::fixtures;
use super::handwriting::{patterns, renamed, write};
use crate::support::binary::{Tested, run, said};
use crate::support::card::list;

/// Demonstrations of the first session, early and late ones in both: a hand gets used to it.
const DEALT: [[usize; 3]; 6] = [[0, 2, 4], [0, 3, 6], [1, 3, 5], [2, 4, 6], [1, 4, 6], [0, 2, 5]];

/// Rows of a pattern's seven demonstrations, apart.
fn demonstrations(path: &Path) -> Result<Vec<RecordBatch>, Box<dyn Error>> {
    let all = renamed(path, "shown")?;
    let each = all.num_rows() / 7;
    Ok((0..7).map(|at| all.slice(at * each, each)).collect())
}

/// What is called different between two sessions, in words.
fn different(a: &[RecordBatch], b: &[RecordBatch]) -> Result<Vec<String>, Box<dyn Error>> {
    let dir = tempfile::tempdir()?;
    let (first, second) = (dir.path().join("a.parquet"), dir.path().join("b.parquet"));
    write(&first, a)?;
    write(&second, b)?;
    let profile = fixtures().join("handwriting.toml");
    let output = run(&[
        "compare".as_ref(),
        first.as_os_str(),
        second.as_os_str(),
        "--profile".as_ref(),
        profile.as_os_str(),
        "--format=json".as_ref(),
    ])?;
    let found: Value = serde_json::from_slice(&output.stdout).map_err(|_| said(&output))?;
    let rows = list(&found, "aspects").iter().filter(|row| row["answer"] == "different");
    Ok(rows.map(|row| format!("{} {} {}", row["aspect"], row["joint"], row["change"])).collect())
}

/// 5 % over all aspects of a pair are allowed by chance.
#[test]
fn one_hand_is_not_called_two() -> Tested {
    let (mut pairs, mut reported) = (0, Vec::new());
    for file in patterns()? {
        let shown = demonstrations(&file)?;
        for first in DEALT {
            let part = |second: bool| -> Vec<RecordBatch> {
                let of = shown.iter().enumerate().filter(|(at, _)| first.contains(at) != second);
                of.map(|(_, rows)| rows.clone()).collect()
            };
            let rows = different(&part(false), &part(true))?;
            pairs += 1;
            if !rows.is_empty() {
                reported.push(format!("{} {first:?}: {rows:?}", file.display()));
            }
        }
    }
    assert!(
        pairs == 180 && reported.len() * 20 <= pairs,
        "{} of {pairs}: {reported:#?}",
        reported.len()
    );
    Ok(())
}

/// Seven against seven of another pattern.
#[test]
fn another_pattern_is_called_another() -> Tested {
    let files = patterns()?;
    let mut missed = Vec::new();
    for (at, file) in files.iter().enumerate() {
        let other = &files[(at + 1) % files.len()];
        if different(&demonstrations(file)?, &demonstrations(other)?)?.is_empty() {
            missed.push(format!("{} and {}", file.display(), other.display()));
        }
    }
    assert!(missed.is_empty(), "{missed:#?}");
    Ok(())
}
