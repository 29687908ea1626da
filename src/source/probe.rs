//! Reads a file to its end: what another process does before this one does.

use std::path::Path;

use crate::source::format::open::TableFile;
use crate::source::read_error::ReadError;
use crate::source::roles::shape::ColumnPath;

/// Reads every column of a file: what the other process does.
///
/// # Errors
/// Why it cannot be read, in one line.
pub fn read_through(path: &Path) -> Result<(), String> {
    let read = || -> Result<(), ReadError> {
        let table = TableFile::open(path)?.table;
        let fields = table.schema().fields();
        let all: Vec<ColumnPath> = fields.iter().map(|field| vec![field.name().clone()]).collect();
        let ranges = std::slice::from_ref(&(0..u64::MAX));
        table.scan(&all, ranges, &mut |_| true)
    };
    read().map_err(|error| error.line())
}
