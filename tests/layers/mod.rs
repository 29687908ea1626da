//! The layers of the library: a module names only lower ones, files need each other in one
//! direction, each resource has one keeper, and files are short.

mod cycles;
mod graph;
mod names;
mod registry;

use std::fs;
use std::path::{Path, PathBuf};

use crate::support::rust;
use graph::Library;

/// Every module of the package and the layer it lies in.
const LAYERS: &[(&str, u32)] = &[
    ("num", 0),
    ("model", 1),
    ("parquet_io", 2),
    ("source", 3),
    ("demo", 3),
    ("check", 3),
    ("cohort", 4),
    ("catalogue", 5),
    ("store", 6),
    ("compare", 6),
    ("judge", 6),
    ("profile", 7),
    ("report", 7),
    ("engine", 8),
    ("app", 9),
    ("cli", 10),
];

/// Longest median, 90th percentile and maximum of the lengths of files, in lines.
const LINES: [usize; 3] = [120, 250, 399];

pub fn source_root() -> PathBuf {
    root().join("src")
}

/// The folder of the package, which the test runner may set.
pub fn root() -> PathBuf {
    let given = std::env::var_os("CARGO_MANIFEST_DIR").map(PathBuf::from);
    given.unwrap_or_else(|| Path::new(env!("CARGO_MANIFEST_DIR")).to_owned())
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

/// Every file of the library: its path within `src`, and its text.
pub fn sources() -> Vec<(String, String)> {
    let root = source_root();
    let read = |path: PathBuf| {
        let within = path.strip_prefix(&root).unwrap_or(&path).to_string_lossy().into_owned();
        (within, fs::read_to_string(&path).unwrap_or_default())
    };
    rust_files(&root).into_iter().map(read).collect()
}

fn layer(module: &str) -> Option<u32> {
    LAYERS.iter().find(|(name, _)| *name == module).map(|(_, layer)| *layer)
}

/// The module of the top that a file belongs to; none for the roots.
fn top(file: &str) -> Option<&str> {
    let top = file.split('/').next().unwrap_or(file).trim_end_matches(".rs");
    Some(top).filter(|top| !["lib", "main"].contains(top))
}

/// Where a file names a module that does not lie below its own.
fn upward(files: &[(String, String)]) -> Vec<String> {
    let library = Library::of(files.iter().map(|(file, text)| (file.as_str(), text.as_str())));
    let mut found = Vec::new();
    let graph = library.graph();
    for (file, mut named) in library.tops() {
        let Some(own) = top(file) else { continue };
        // The root passes names on, so both the path and the file that defines the name count.
        named.extend(graph[file].iter().filter_map(|file| top(file)).map(str::to_owned));
        for other in named.iter().filter(|other| layer(other).is_some() && *other != own) {
            if layer(other) >= layer(own) {
                found.push(format!("{file} (layer {:?}) names {other}", layer(own)));
            }
        }
    }
    found
}

#[test]
fn every_module_has_a_layer() {
    let sources = sources();
    for module in sources.iter().filter_map(|(file, _)| top(file)) {
        assert!(layer(module).is_some(), "{module} has no layer");
    }
    assert!(sources.len() > 50, "{} files: is the test looking in the right place?", sources.len());
}

#[test]
fn a_module_names_only_lower_layers() {
    let found = upward(&sources());
    assert!(found.is_empty(), "{}", found.join("\n"));
}

#[test]
fn a_planted_upward_name_is_found_however_it_is_written() {
    let upward_in = |text: &str| {
        let files = [
            (
                "lib.rs",
                "pub mod check; pub mod engine; pub mod model; mod judge; pub use judge::Limits;",
            ),
            ("engine/mod.rs", "pub struct Plan;"),
            ("judge/mod.rs", "pub struct Limits; pub fn judge() {}"),
            ("model/mod.rs", "pub struct Model;"),
            ("check/mod.rs", "mod deep;"),
            ("check/deep.rs", text),
        ];
        let files = files.map(|(file, text)| (file.to_owned(), text.to_owned()));
        upward(&files).len()
    };
    assert_eq!(upward_in("use crate::engine::Plan;"), 1);
    assert_eq!(upward_in("use crate::{model::Model, judge::{self}, engine as e};"), 2);
    assert_eq!(upward_in("use super::super::judge;"), 1);
    assert_eq!(upward_in("use crate::Limits;"), 1);
    assert_eq!(upward_in("#[cfg(test)]\nmod tests {}\nfn f() { super::super::judge::judge() }"), 1);
    assert_eq!(upward_in("use crate::model::Model; // crate::engine::Plan"), 0);
    assert_eq!(upward_in("#[cfg(test)]\nmod tests { use crate::engine::Plan; }"), 0);
}

#[test]
fn threads_environment_and_data_files_have_one_keeper_each() {
    let keepers: &[(&[&str], &[&str])] = &[
        // Text waits for the pool of polars on a thread that does nothing else: one of ours would take up the
        // next file meanwhile, and run out of stack.
        (&["std::thread", "thread::spawn"], &["engine", "source/format/separated.rs"]),
        (&["ThreadPool", "rayon::spawn"], &["engine"]),
        // Within the pool that the engine owns: nothing there depends on the number of threads.
        (&["rayon::"], &["engine", "source"]),
        (&["std::env::", "env::var", "env::args"], &["cli", "main.rs"]),
        (&["ParquetRecordBatchReader", "ipc::reader"], &["source", "store", "parquet_io"]),
        (&["arrow::", "parquet::"], &["source", "store", "parquet_io", "demo"]),
    ];
    for (file, text) in sources() {
        let code = rust::code(&text);
        for (words, allowed) in keepers {
            let at_home = allowed.iter().any(|home| Path::new(&file).starts_with(home));
            for word in words.iter().filter(|_| !at_home) {
                assert!(!code.contains(word), "{file} uses {word}");
            }
        }
    }
}

#[test]
fn files_are_short() {
    let sources = sources();
    let mut lengths: Vec<(usize, &str)> =
        sources.iter().map(|(file, text)| (text.lines().count(), file.as_str())).collect();
    lengths.sort_unstable();
    let last = lengths.len() - 1;
    let at = [last / 2, last * 9 / 10, last];
    for (at, allowed) in at.into_iter().zip(LINES) {
        let (lines, file) = lengths[at];
        assert!(lines <= allowed, "{file}, file {at} of {last}, has {lines} lines, not {allowed}");
    }
}
