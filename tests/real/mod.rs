//! The main job on recordings of real machines, held against figures that are not ours: see
//! `fixtures/real/README.md`. `scripts/test` fetches them.

mod arm;
mod flight;
mod handwriting;
mod parts;
mod paths;

use std::error::Error;
use std::path::{Path, PathBuf};

use serde_json::Value;

use crate::support::{binary, python};

/// The figures of one recording.
fn expected(recording: &str) -> Result<Value, Box<dyn Error>> {
    let text = std::fs::read_to_string(fixtures().join("expected.json"))?;
    let all: Value = serde_json::from_str(&text)?;
    Ok(all[recording].clone())
}

fn fixtures() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("fixtures/real")
}

/// Audits a table under the profile of that name.
fn audit(table: &str, profile: &str) -> Result<Value, Box<dyn Error>> {
    let table = python::real()?.join(table);
    let profile = fixtures().join(profile).with_extension("toml");
    binary::scorecard(&[table.as_os_str(), "--profile".as_ref(), profile.as_os_str()])
}

/// Holds a measured value in milliseconds against the figure, within what is allowed there.
fn close_ms(expected: &Value, figure: &str, measured_s: f64) {
    let want = expected[figure]["value"].as_f64().unwrap_or(f64::NAN);
    let within = expected[figure]["within"].as_f64().unwrap_or(f64::NAN);
    let off = (measured_s * 1e3 - want).abs();
    assert!(off <= within, "{figure}: {} ms, expected {want} within {within}", measured_s * 1e3);
}

/// The numbers of a figure that is a list.
fn numbers(expected: &Value, figure: &str) -> Vec<f64> {
    let list = expected[figure]["value"].as_array();
    list.map(|list| list.iter().filter_map(Value::as_f64).collect()).unwrap_or_default()
}
