//! The formats that are read.

use std::path::Path;

use super::table::Format;
use super::{arrow_ipc, json_lines, mcap, numpy, parquet, separated};

/// Every format; the first that recognises a file opens it.
pub(in crate::source) static FORMATS: &[&Format] = &[
    &parquet::FORMAT,
    &arrow_ipc::FILE,
    &arrow_ipc::STREAM,
    &mcap::FORMAT,
    &separated::FORMAT,
    &json_lines::FORMAT,
    &numpy::ARCHIVE,
    &numpy::ARRAY,
    #[cfg(test)]
    &super::trial::FORMAT,
];

/// Endings of tables, by which they are known inside a folder.
pub(in crate::source) fn endings() -> impl Iterator<Item = &'static str> {
    endings_of(false)
}

/// Endings of tables that are read where there are no others.
pub(in crate::source) fn endings_alone() -> impl Iterator<Item = &'static str> {
    endings_of(true)
}

fn endings_of(alone: bool) -> impl Iterator<Item = &'static str> {
    let formats = FORMATS.iter().filter(move |format| format.alone == alone);
    formats.flat_map(|format| format.endings.iter().copied())
}

/// Whether a file's name is that of a table that grows line by line.
pub(in crate::source) fn is_lines(path: &Path) -> bool {
    let endings = [&separated::FORMAT, &json_lines::FORMAT].map(|format| format.endings);
    endings.iter().flat_map(|endings| *endings).any(|ending| has_ending(path, ending))
}

/// What a file is called by its ending: the first that its format has.
pub(in crate::source) fn kind_of(path: &Path) -> Option<&'static str> {
    let is = |format: &&&Format| format.endings.iter().any(|ending| has_ending(path, ending));
    FORMATS.iter().find(is).and_then(|format| format.endings.first().copied())
}

/// Whether a file's name has an ending, which may have two parts: `csv.gz`.
pub(in crate::source) fn has_ending(path: &Path, ending: &str) -> bool {
    let name = path.file_name().unwrap_or_default().to_string_lossy().to_lowercase();
    name.strip_suffix(ending).is_some_and(|stem| stem.len() > 1 && stem.ends_with('.'))
}
