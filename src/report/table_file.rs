//! The scorecard table as CSV, by polars. As Parquet it is written while the data is measured.

use std::io::Write;

use polars::prelude::{CsvWriter, SerWriter};

use super::table::{ScoreTable, TableError};

/// Writes the table as CSV, in SI units, empty where nothing was read.
///
/// # Errors
/// If the table cannot be written.
pub fn write_csv(table: &ScoreTable, out: &mut dyn Write) -> Result<(), TableError> {
    let mut frame = table.frame().clone();
    Ok(CsvWriter::new(out).finish(&mut frame)?)
}
