//! Values separated by commas, semicolons or tabs, with a line of names in front.

use std::io::Cursor;
use std::sync::Arc;

use arrow::datatypes::{Field, Schema};
use arrow::record_batch::RecordBatch;
use polars::prelude::{CsvReadOptions, SerReader as _};

use crate::source::format::memory_table::MemoryTable;
use crate::source::format::packed;
use crate::source::format::parsed::{array, first_line};
use crate::source::format::table::Format;
use crate::source::read_error::ReadError;

/// Rows that show what the columns hold, by regular expressions: all rows would take far longer than to
/// parse them.
const SHOWN: usize = 100;

/// CSV and TSV, also packed.
pub(super) static FORMAT: Format = Format {
    endings: &["csv", "tsv", "csv.gz", "tsv.gz", "csv.zst", "tsv.zst"],
    alone: true,
    head: b"",
    tail: b"",
    refused: &[],
    open: |opening| MemoryTable::open(&FORMAT, &opening, || apart(&packed::bytes(&opening)?)),
};

/// Reads on a thread of its own. polars works in a pool of its own, and a thread of our pool that waits
/// for another one takes up the next file meanwhile, and within that the next, until its stack is full
/// (rayon 1.12 with polars 0.55: from some hundred files on the process died).
fn apart(bytes: &[u8]) -> Result<RecordBatch, ReadError> {
    let threads = rayon::current_num_threads();
    std::thread::scope(|scope| {
        let reading = std::thread::Builder::new().spawn_scoped(scope, || read(bytes, threads));
        let reading = reading.map_err(ReadError::Read)?;
        reading.join().unwrap_or_else(|thrown| std::panic::resume_unwind(thrown))
    })
}

/// `threads` is how many parts of the text are parsed at once: as many as the run has threads.
fn read(bytes: &[u8], threads: usize) -> Result<RecordBatch, ReadError> {
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
    let table = |shown: usize| {
        let options = options(separator, decimal_comma, shown).with_n_threads(Some(threads));
        options.into_reader_with_file_handle(Cursor::new(bytes)).finish()
    };
    let table = match table(SHOWN) {
        Ok(table) => table,
        // A later row holds something else than these showed: each column is what all of its cells are.
        Err(_) => table(0).map_err(|e| ReadError::Columns(first_line(&e.to_string())))?,
    };
    let mut fields = Vec::new();
    let mut arrays = Vec::new();
    for column in table.into_columns() {
        let name = column.name().to_string();
        let array = array(&name, column, decimal_comma)?;
        fields.push(Field::new(name, array.data_type().clone(), true));
        arrays.push(array);
    }
    RecordBatch::try_new(Arc::new(Schema::new(fields)), arrays).map_err(|e| ReadError::columns(&e))
}

/// Columns of what their first cells hold; of text where none are looked at.
fn options(separator: u8, decimal_comma: bool, shown: usize) -> CsvReadOptions {
    CsvReadOptions::default()
        .with_has_header(true)
        .with_infer_schema_length(Some(shown))
        .with_rechunk(true)
        .map_parse_options(|parse| {
            parse.with_separator(separator).with_decimal_comma(decimal_comma)
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

#[cfg(test)]
mod tests {
    use arrow::array::AsArray as _;
    use arrow::datatypes::{DataType, Float64Type};

    use super::*;

    fn numbers(text: &str, name: &str) -> Result<Vec<f64>, ReadError> {
        let batch = read(text.as_bytes(), 2)?;
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
        let error = read(b"0.5,1\n1.5,2\n", 2).err().map(|error| error.to_string());
        assert!(error.is_some_and(|text| text.contains("no line of names")));
    }

    #[test]
    fn a_row_with_too_many_cells_is_refused() {
        assert!(read(b"time,waist\n0.5,1\n1.5,2,3\n", 2).is_err());
    }

    /// What the first rows show is not what a later one holds: the column is read again as what all of
    /// its cells are.
    #[test]
    fn a_late_cell_of_another_kind_changes_its_column_alone() -> Result<(), ReadError> {
        let rows = |last: &str| {
            let same = "0,0,,0.5\n".repeat(3 * SHOWN);
            format!("episode,waist,elbow,wrist\n{same}{last}\n")
        };
        for (last, kinds) in [
            ("1,1,,1.5", [DataType::Int64, DataType::Int64, DataType::Utf8, DataType::Float64]),
            ("1,0.25,,1", [DataType::Int64, DataType::Float64, DataType::Utf8, DataType::Float64]),
            (
                "1,2,0.25,1",
                [DataType::Int64, DataType::Int64, DataType::Float64, DataType::Float64],
            ),
            ("1,x,7,nan", [DataType::Int64, DataType::Utf8, DataType::Int64, DataType::Float64]),
        ] {
            let batch = read(rows(last).as_bytes(), 2)?;
            let found: Vec<DataType> =
                batch.columns().iter().map(|column| column.data_type().clone()).collect();
            assert_eq!(found, kinds, "{last}");
            assert_eq!(batch.num_rows(), 3 * SHOWN + 1);
        }
        let commas = rows("1;0,25;;1").replace("0.5", "0,5").replace(",0,,0,5", ";0;;0,5");
        assert!(commas.lines().nth(1).is_some_and(|line| line == "0;0;;0,5"), "{commas}");
        let values =
            numbers(&commas.replacen("episode,waist,elbow,wrist", "a;waist;c;d", 1), "waist")?;
        assert_eq!((values[0], values[3 * SHOWN]), (0.0, 0.25));
        Ok(())
    }

    #[test]
    fn empty_cells_are_missing() -> Result<(), ReadError> {
        let values = numbers("time,waist\n0.5,\n1.5,2\n", "waist")?;
        assert!(values[0].is_nan() && values[1] == 2.0);
        Ok(())
    }
}
