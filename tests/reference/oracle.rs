//! Reads the reference cases.

use std::path::PathBuf;

use serde_json::Value;

use crate::layers::rust_files;

/// One case of `fixtures/reference/oracles.json`.
pub struct Oracle(Value);

fn path(name: &str) -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("fixtures/reference").join(name)
}

fn read(name: &str) -> String {
    let path = path(name);
    std::fs::read_to_string(&path).unwrap_or_else(|error| panic!("{}: {error}", path.display()))
}

impl Oracle {
    /// The case with this id.
    pub fn case(id: &str) -> Self {
        let all: Value = serde_json::from_str(&read("oracles.json")).unwrap_or(Value::Null);
        let found = all.as_array().into_iter().flatten().find(|case| case["id"] == id).cloned();
        Self(found.unwrap_or_else(|| panic!("no case {id}")))
    }

    fn at(&self, part: &str, key: &str) -> &Value {
        let pointer = format!("/{part}/{key}");
        self.0.pointer(&pointer).unwrap_or_else(|| panic!("no {pointer}"))
    }

    /// A list of numbers of the input.
    pub fn input(&self, key: &str) -> Vec<f64> {
        numbers(self.at("input", key))
    }

    /// A number that was expected; `/` steps into a group.
    pub fn expected(&self, key: &str) -> f64 {
        let value = self.at("expected", key);
        value.as_f64().unwrap_or_else(|| panic!("{key} is not a number"))
    }

    /// A list of numbers that was expected.
    pub fn expected_list(&self, key: &str) -> Vec<f64> {
        numbers(self.at("expected", key))
    }

    /// A list of one-based rows that was expected, as indices.
    pub fn expected_rows(&self, key: &str) -> Vec<usize> {
        self.expected_list(key).into_iter().map(|row| row as usize - 1).collect()
    }

    /// The input as it stands.
    pub fn raw_input(&self) -> &Value {
        &self.0["input"]
    }
}

/// Every case and every file of the folder is read by a test next to this file.
#[test]
fn nothing_lies_unused() {
    let here = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("tests/reference");
    let tests: String =
        rust_files(&here).iter().filter_map(|file| std::fs::read_to_string(file).ok()).collect();
    let all: Value = serde_json::from_str(&read("oracles.json")).unwrap_or(Value::Null);
    let mut names: Vec<String> = all
        .as_array()
        .into_iter()
        .flatten()
        .filter_map(|case| case["id"].as_str().map(str::to_owned))
        .collect();
    assert!(names.len() > 20, "{} cases", names.len());
    let files = std::fs::read_dir(path("")).into_iter().flatten().flatten();
    names.extend(files.filter_map(|file| file.file_name().into_string().ok()));
    names.retain(|name| name != "README.md" && !tests.contains(name.as_str()));
    assert!(names.is_empty(), "no test reads {}", names.join(", "));
}

/// A list of numbers; anything else is left out.
pub fn numbers(value: &Value) -> Vec<f64> {
    value.as_array().into_iter().flatten().filter_map(Value::as_f64).collect()
}

/// The first columns of a table with one heading line, row by row.
pub fn table(name: &str, columns: usize) -> Vec<f64> {
    let text = read(name);
    let cell = |cell: &str| cell.trim().parse().unwrap_or_else(|_| panic!("{name}: cell {cell}"));
    let rows = text.lines().skip(1).filter(|line| !line.trim().is_empty());
    rows.flat_map(|line| line.split(',').take(columns).map(cell).collect::<Vec<f64>>()).collect()
}

/// Asserts agreement to a relative tolerance (absolute below one).
#[track_caller]
pub fn close(found: f64, expected: f64, tolerance: f64) {
    let off = (found - expected).abs();
    assert!(off <= tolerance * expected.abs().max(1.0), "found {found}, expected {expected}");
}

/// Asserts agreement of lists.
#[track_caller]
pub fn all_close(found: &[f64], expected: &[f64], tolerance: f64) {
    assert_eq!(found.len(), expected.len(), "found {found:?}, expected {expected:?}");
    for (found, expected) in found.iter().zip(expected) {
        close(*found, *expected, tolerance);
    }
}
