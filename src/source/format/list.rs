//! The formats that are read.

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

/// Endings by which a table is known inside a folder.
pub(in crate::source) fn endings() -> impl Iterator<Item = &'static str> {
    FORMATS.iter().flat_map(|format| format.endings.iter().copied())
}
