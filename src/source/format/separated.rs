//! Values separated by commas, semicolons or tabs, with a line of names in front.

use std::io::Cursor;
use std::sync::Arc;

use arrow::array::{ArrayRef, BooleanArray, Float64Array, Int64Array};
use arrow::datatypes::{Field, Schema};
use arrow::record_batch::RecordBatch;
use polars::prelude::{Column, CsvReadOptions, DataType, SerReader as _};

use crate::source::format::cells;
use crate::source::format::memory_table::MemoryTable;
use crate::source::format::packed;
use crate::source::format::table::Format;
use crate::source::read_error::ReadError;

/// CSV and TSV, also packed.
pub(super) static FORMAT: Format = Format {
    endings: &["csv", "tsv", "csv.gz", "tsv.gz", "csv.zst", "tsv.zst"],
    alone: true,
    head: b"",
    tail: b"",
    refused: &[],
    open: |opening| MemoryTable::open(&FORMAT, &opening, || read(&packed::bytes(&opening)?)),
};

fn read(bytes: &[u8]) -> Result<RecordBatch, ReadError> {
    let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
    let mut lines = bytes.split(|byte| *byte == b'\n');
    let (names, first) = (lines.next().unwrap_or_default(), lines.next().unwrap_or_default());
    let separator = separator(names);
    if is_numbers(names, separator) {
        let what = "has no line of names: the first line holds numbers; put one in front";
        return Err(ReadError::Columns(what.to_owned()));
    }
    // A comma within a number is one where it separates nothing else and no point is there.
    let decimal_comma = separator != b',' && first.contains(&b',') && !first.contains(&b'.');
    let options = CsvReadOptions::default()
        .with_has_header(true)
        .with_infer_schema_length(None)
        // The pool of this program has a thread for each file.
        .with_n_threads(Some(1))
        .with_rechunk(true)
        .map_parse_options(|parse| {
            parse.with_separator(separator).with_decimal_comma(decimal_comma)
        });
    let table = options.into_reader_with_file_handle(Cursor::new(bytes)).finish();
    let table = table.map_err(|e| ReadError::Columns(first_line(&e.to_string())))?;
    let mut fields = Vec::new();
    let mut arrays = Vec::new();
    for column in table.columns() {
        let array = array(column)?;
        fields.push(Field::new(column.name().as_str(), array.data_type().clone(), true));
        arrays.push(array);
    }
    RecordBatch::try_new(Arc::new(Schema::new(fields)), arrays).map_err(|e| ReadError::columns(&e))
}

/// Numbers stay as they are stored; texts are what they hold.
fn array(column: &Column) -> Result<ArrayRef, ReadError> {
    let odd = |e: polars::prelude::PolarsError| ReadError::Columns(first_line(&e.to_string()));
    Ok(match column.dtype() {
        DataType::Int64 => Arc::new(column.i64().map_err(odd)?.iter().collect::<Int64Array>()),
        DataType::Boolean => Arc::new(column.bool().map_err(odd)?.iter().collect::<BooleanArray>()),
        DataType::String => {
            let texts: Vec<Option<&str>> = column.str().map_err(odd)?.iter().collect();
            return cells::of_texts(column.name().as_str(), &texts);
        }
        _ => {
            let numbers = column.cast(&DataType::Float64).map_err(odd)?;
            Arc::new(numbers.f64().map_err(odd)?.iter().collect::<Float64Array>())
        }
    })
}

/// The separator that the line of names has most of.
fn separator(names: &[u8]) -> u8 {
    let count = |sign: u8| names.split(|byte| *byte == sign).count();
    // Of equals the first: a line of one name has none of them.
    [b',', b';', b'\t'].into_iter().rev().max_by_key(|sign| count(*sign)).unwrap_or(b',')
}

fn is_numbers(names: &[u8], separator: u8) -> bool {
    let text = String::from_utf8_lossy(names);
    let mut cells = text.trim_end().split(char::from(separator)).peekable();
    let number = |cell: &str| cell.trim().replace(',', ".").parse::<f64>().is_ok();
    cells.peek().is_some_and(|cell| !cell.is_empty()) && cells.all(number)
}

fn first_line(text: &str) -> String {
    text.lines().next().unwrap_or_default().trim_end_matches([':', ' ']).to_owned()
}

#[cfg(test)]
mod tests {
    use arrow::array::AsArray as _;
    use arrow::datatypes::{DataType, Float64Type};

    use super::*;

    fn numbers(text: &str, name: &str) -> Result<Vec<f64>, ReadError> {
        let batch = read(text.as_bytes())?;
        let column = batch.column_by_name(name).ok_or(ReadError::NoRows)?;
        let column = arrow::compute::cast(column, &DataType::Float64);
        let column = column.map_err(|e| ReadError::columns(&e))?;
        Ok(column.as_primitive::<Float64Type>().iter().map(|v| v.unwrap_or(f64::NAN)).collect())
    }

    #[test]
    fn separators_and_decimal_commas_are_recognised() -> Result<(), ReadError> {
        let comma = "time,waist\n0.5,1\n1.5,2\n";
        for text in [
            comma.to_owned(),
            comma.replace(',', "\t"),
            comma.replace(',', ";"),
            comma.replace(',', ";").replace('.', ","),
            format!("\u{feff}{comma}"),
            comma.replace('\n', "\r\n"),
        ] {
            assert_eq!(numbers(&text, "time")?, [0.5, 1.5], "{text}");
            assert_eq!(numbers(&text, "waist")?, [1.0, 2.0], "{text}");
        }
        Ok(())
    }

    #[test]
    fn a_line_of_numbers_is_no_line_of_names() {
        let error = read(b"0.5,1\n1.5,2\n").err().map(|error| error.to_string());
        assert!(error.is_some_and(|text| text.contains("no line of names")));
    }

    #[test]
    fn a_row_with_too_many_cells_is_refused() {
        assert!(read(b"time,waist\n0.5,1\n1.5,2,3\n").is_err());
    }

    #[test]
    fn empty_cells_are_missing() -> Result<(), ReadError> {
        let values = numbers("time,waist\n0.5,\n1.5,2\n", "waist")?;
        assert!(values[0].is_nan() && values[1] == 2.0);
        Ok(())
    }
}
