//! What is copied of one table.

use std::ops::Range;
use std::path::PathBuf;

use crate::source::copy::edit::Edit;

/// A stretch of rows that is kept.
#[derive(Debug, Clone, PartialEq)]
pub struct Piece {
    /// Rows of the input file.
    pub rows: Range<u64>,
    /// What is changed in them.
    pub edits: Vec<Edit>,
}

impl Piece {
    /// Rows as they are.
    #[cfg(test)]
    pub fn unchanged(rows: Range<u64>) -> Self {
        Self { rows, edits: Vec::new() }
    }
}

/// One file of the copy.
#[derive(Debug, Clone)]
pub struct TableCopy {
    /// Number of the input.
    pub input: usize,
    /// Where it is written, below the folder of the copy.
    pub to: PathBuf,
    /// What is written, in the order of the input: sorted, apart.
    pub pieces: Vec<Piece>,
    /// What is noted in the file's metadata, as JSON.
    pub note: String,
}

impl TableCopy {
    /// Key of the note.
    pub const KEY: &'static str = "teleassay.keep";

    /// Rows that are written.
    pub fn rows(&self) -> u64 {
        self.pieces.iter().map(|piece| piece.rows.end - piece.rows.start).sum()
    }
}

/// All that one copy needs.
pub struct Wanted<'a> {
    /// The files.
    pub tables: &'a [TableCopy],
    /// Whether the person asked for the end.
    pub stop: &'a (dyn Fn() -> bool + Sync),
}

/// What was written of a table.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Copied {
    /// Rows.
    pub rows: u64,
    /// Bytes.
    pub bytes: u64,
}

/// The notes of a copy of a copy stay: they are a list, the oldest first.
pub(super) fn noted(before: Option<&str>, note: &str) -> String {
    let inner = before.and_then(|text| text.trim().strip_prefix('[')?.strip_suffix(']'));
    match inner.filter(|text| !text.trim().is_empty()) {
        Some(older) => format!("[{older},{note}]"),
        None => format!("[{note}]"),
    }
}

#[cfg(test)]
mod tests {
    use super::noted;

    #[test]
    fn notes_are_a_list_that_grows() {
        let first = noted(None, "{\"a\":1}");
        assert_eq!(first, "[{\"a\":1}]");
        assert_eq!(noted(Some(&first), "{}"), "[{\"a\":1},{}]");
        assert_eq!(noted(Some("no list"), "{}"), "[{}]");
    }
}
