//! The formats that are read.

use std::path::Path;

use super::table::Format;
use super::{arrow_ipc, json_lines, parquet, separated};

/// Every format; the first that recognises a file opens it.
pub(in crate::source) static FORMATS: &[&Format] = &[
    &parquet::FORMAT,
    &arrow_ipc::FILE,
    &arrow_ipc::STREAM,
    &separated::FORMAT,
    &json_lines::FORMAT,
    #[cfg(test)]
    &super::trial::FORMAT,
];

/// Endings of binary tables, by which they are known inside a folder.
pub(in crate::source) fn endings() -> impl Iterator<Item = &'static str> {
    endings_of(false)
}

/// Endings of tables of text.
pub(in crate::source) fn text_endings() -> impl Iterator<Item = &'static str> {
    endings_of(true)
}

fn endings_of(text: bool) -> impl Iterator<Item = &'static str> {
    let formats = FORMATS.iter().filter(move |format| format.text == text);
    formats.flat_map(|format| format.endings.iter().copied())
}

/// Whether a file's name has an ending, which may have two parts: `csv.gz`.
pub(in crate::source) fn has_ending(path: &Path, ending: &str) -> bool {
    let name = path.file_name().unwrap_or_default().to_string_lossy().to_lowercase();
    name.strip_suffix(ending).is_some_and(|stem| stem.len() > 1 && stem.ends_with('.'))
}
