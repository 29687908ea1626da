//! The scorecard table as a file: CSV by polars, Parquet by the parquet crate.

use std::io::Write;
use std::sync::Arc;

use arrow::array::{ArrayRef, Float64Array, StringArray, UInt64Array};
use arrow::datatypes::{DataType as ArrowType, Field as ArrowField, Schema as ArrowSchema};
use arrow::record_batch::RecordBatch;
use parquet::arrow::ArrowWriter;
use parquet::basic::{Compression, ZstdLevel};
use parquet::file::properties::WriterProperties;
use polars::prelude::{Column, CsvWriter, DataType, SerWriter};

use super::table::{ScoreTable, TableError};

/// Writes the table as CSV, in SI units, empty where nothing was read.
///
/// # Errors
/// If the table cannot be written.
pub fn write_csv(table: &ScoreTable, out: &mut dyn Write) -> Result<(), TableError> {
    let mut frame = table.frame().clone();
    Ok(CsvWriter::new(out).finish(&mut frame)?)
}

/// Writes the table as Parquet, in SI units, null where nothing was read.
///
/// # Errors
/// If the table cannot be written.
pub fn write_parquet<W: Write + Send>(table: &ScoreTable, out: W) -> Result<(), TableError> {
    let mut fields = Vec::new();
    let mut arrays = Vec::new();
    for column in table.frame().columns() {
        let (kind, array) = to_arrow(column)?;
        fields.push(ArrowField::new(column.name().as_str(), kind, true));
        arrays.push(array);
    }
    let schema = Arc::new(ArrowSchema::new(fields));
    let batch = RecordBatch::try_new(Arc::clone(&schema), arrays)?;
    let properties = WriterProperties::builder()
        .set_compression(Compression::ZSTD(ZstdLevel::default()))
        .build();
    let mut writer = ArrowWriter::try_new(out, schema, Some(properties))?;
    writer.write(&batch)?;
    writer.close()?;
    Ok(())
}

/// A copy of the column, which is cheap beside its compression.
fn to_arrow(column: &Column) -> Result<(ArrowType, ArrayRef), TableError> {
    Ok(match column.dtype() {
        DataType::String => {
            (ArrowType::Utf8, Arc::new(column.str()?.iter().collect::<StringArray>()) as ArrayRef)
        }
        DataType::UInt64 => {
            (ArrowType::UInt64, Arc::new(column.u64()?.iter().collect::<UInt64Array>()))
        }
        _ => (ArrowType::Float64, Arc::new(column.f64()?.iter().collect::<Float64Array>())),
    })
}
