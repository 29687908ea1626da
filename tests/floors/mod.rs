//! The house keeps its floors: a module names only lower ones, and each resource has one keeper.

mod registry;

use std::fs;
use std::path::{Path, PathBuf};

/// Every module of the library and the floor it lies on.
const FLOORS: &[(&str, u32)] = &[
    ("num", 0),
    ("parquet_io", 0),
    ("model", 1),
    ("check", 2),
    ("source", 2),
    ("demo", 2),
    ("judge", 3),
    ("cohort", 3),
    ("compare", 3),
    ("store", 3),
    ("profile", 4),
    ("report", 4),
    ("engine", 5),
];

pub fn source_root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("src")
}

/// Every Rust file below a folder.
pub fn rust_files(folder: &Path) -> Vec<PathBuf> {
    let mut found = Vec::new();
    let entries = fs::read_dir(folder).into_iter().flatten().flatten();
    for path in entries.map(|entry| entry.path()) {
        if path.is_dir() {
            found.extend(rust_files(&path));
        } else if path.extension().is_some_and(|ending| ending == "rs") {
            found.push(path);
        }
    }
    found.sort();
    found
}

/// The code of a file: no comments, and nothing from its tests on.
fn code(path: &Path) -> String {
    let text = fs::read_to_string(path).unwrap_or_default();
    let text = text.split("#[cfg(test)]\nmod tests").next().unwrap_or_default();
    let lines = text.lines().filter(|line| !line.trim_start().starts_with("//"));
    lines.collect::<Vec<_>>().join("\n")
}

fn floor(module: &str) -> Option<u32> {
    FLOORS.iter().find(|(name, _)| *name == module).map(|(_, floor)| *floor)
}

/// Modules of the crate that a piece of code names.
fn named(code: &str) -> Vec<&'static str> {
    let names = |module: &str| {
        code.contains(&format!("crate::{module}::"))
            || code.contains(&format!("crate::{module};"))
            || grouped(code).any(|name| name == module)
    };
    FLOORS.iter().map(|(name, _)| *name).filter(|name| names(name)).collect()
}

/// Names at the top of `use crate::{…}` groups.
fn grouped(code: &str) -> impl Iterator<Item = &str> {
    code.split("use crate::{").skip(1).flat_map(|rest| {
        let group = rest.split(';').next().unwrap_or_default();
        group.split([',', '{', '}', ' ', '\n']).map(|part| part.split("::").next().unwrap_or(part))
    })
}

#[test]
fn every_module_of_the_library_has_a_floor() {
    let entries = fs::read_dir(source_root()).into_iter().flatten().flatten();
    for name in entries.map(|entry| entry.file_name().to_string_lossy().into_owned()) {
        let known = ["main.rs", "lib.rs", "cli"].contains(&name.as_str());
        assert!(known || floor(name.trim_end_matches(".rs")).is_some(), "{name} has no floor");
    }
}

#[test]
fn a_module_names_only_lower_floors() {
    let mut looked_at = 0;
    for (module, own) in FLOORS {
        for path in rust_files(&source_root().join(module)) {
            looked_at += 1;
            for other in named(&code(&path)).iter().filter(|other| *other != module) {
                let theirs = floor(other).unwrap_or(u32::MAX);
                assert!(
                    theirs < *own,
                    "{} (floor {own}) names {other} (floor {theirs})",
                    path.display()
                );
            }
        }
    }
    assert!(
        looked_at > 50,
        "only {looked_at} files found: is the test looking in the right place?"
    );
}

#[test]
fn the_reader_of_names_sees_what_it_must() {
    assert_eq!(named("use crate::engine::Plan;"), ["engine"]);
    assert_eq!(named("use crate::{check, judge::Limits};"), ["check", "judge"]);
    assert_eq!(named("let x = crate::report::json();"), ["report"]);
    assert!(named("use crate::model::Episode;").contains(&"model"));
}

#[test]
fn threads_environment_and_data_files_have_one_keeper_each() {
    let keepers: &[(&[&str], &[&str])] = &[
        (&["rayon::", "std::thread", "thread::spawn"], &["engine"]),
        (&["std::env::", "env::var", "env::args"], &["cli", "main.rs"]),
        (&["ParquetRecordBatchReader", "ipc::reader"], &["source", "store"]),
        (&["arrow::", "parquet::"], &["parquet_io", "source", "store", "demo"]),
    ];
    for path in rust_files(&source_root()) {
        let code = code(&path);
        let module = path.strip_prefix(source_root()).unwrap_or(&path);
        for (words, allowed) in keepers {
            let at_home = allowed.iter().any(|home| module.starts_with(home));
            for word in words.iter().filter(|_| !at_home) {
                assert!(!code.contains(word), "{} uses {word}", path.display());
            }
        }
    }
}

#[test]
fn files_are_short() {
    let mut lengths: Vec<usize> = Vec::new();
    for path in rust_files(&source_root()) {
        let lines = fs::read_to_string(&path).unwrap_or_default().lines().count();
        assert!(lines <= 400, "{} has {lines} lines", path.display());
        lengths.push(lines);
    }
    lengths.sort_unstable();
    let median = lengths[lengths.len() / 2];
    assert!(median <= 120, "the median file has {median} lines");
}
