//! JSON Lines: one object a row. Objects within are columns by their path, `arm.position`.

use std::collections::HashMap;
use std::sync::Arc;

use arrow::datatypes::{Field, Schema};
use arrow::record_batch::RecordBatch;
use serde_json::{Map, Value};

use crate::parquet_io::sizes;
use crate::source::format::cells;
use crate::source::format::memory_table::MemoryTable;
use crate::source::format::packed;
use crate::source::format::table::Format;
use crate::source::read_error::ReadError;

/// JSON Lines, also packed.
pub(super) static FORMAT: Format = Format {
    endings: &["jsonl", "ndjson", "jsonl.gz", "ndjson.gz", "jsonl.zst", "ndjson.zst"],
    alone: true,
    head: b"",
    tail: b"",
    refused: &[],
    open: |opening| MemoryTable::open(&FORMAT, &opening, || read(&packed::bytes(&opening)?)),
};

/// A cell that is missing takes no text and as much memory as one that is there: at most four of a byte.
const CELL: u64 = 16;

/// Columns in the order in which their names come first.
#[derive(Default)]
struct Columns {
    names: Vec<String>,
    places: HashMap<String, usize>,
    values: Vec<Vec<Option<Value>>>,
}

fn read(bytes: &[u8]) -> Result<RecordBatch, ReadError> {
    let mut columns = Columns::default();
    let mut rows = 0;
    for (number, line) in bytes.split(|byte| *byte == b'\n').enumerate() {
        if line.iter().all(u8::is_ascii_whitespace) {
            continue;
        }
        let row: Map<String, Value> = serde_json::from_slice(line).map_err(|e| {
            ReadError::Columns(format!("line {} is no JSON object ({e})", number + 1))
        })?;
        columns.add(rows, "", row);
        rows += 1;
        // A name of its own in each row makes a table of rows by rows.
        let cells = (rows as u64).saturating_mul(columns.names.len() as u64);
        if !sizes::holds(bytes.len() as u64 / CELL, cells) {
            let (names, line) = (columns.names.len(), number + 1);
            let what = format!("line {line}: {names} names in {rows} rows are no table");
            return Err(ReadError::Columns(what));
        }
    }
    columns.batch(rows)
}

impl Columns {
    fn add(&mut self, row: usize, path: &str, object: Map<String, Value>) {
        for (key, value) in object {
            let name = if path.is_empty() { key } else { format!("{path}.{key}") };
            if let Value::Object(inner) = value {
                self.add(row, &name, inner);
                continue;
            }
            let at = *self.places.entry(name).or_insert_with_key(|name| {
                self.names.push(name.clone());
                self.values.push(Vec::new());
                self.names.len() - 1
            });
            self.values[at].resize(row, None);
            self.values[at].push(Some(value));
        }
    }

    fn batch(mut self, rows: usize) -> Result<RecordBatch, ReadError> {
        if rows == 0 {
            return Err(ReadError::NoRows);
        }
        let (mut fields, mut arrays) = (Vec::new(), Vec::new());
        for (name, values) in self.names.iter().zip(&mut self.values) {
            values.resize(rows, None);
            let array = cells::of_values(name, values)?;
            // Values are large: each column's are let go as soon as it is made.
            values.clear();
            values.shrink_to_fit();
            fields.push(Field::new(name, array.data_type().clone(), true));
            arrays.push(array);
        }
        let schema = Arc::new(Schema::new(fields));
        RecordBatch::try_new(schema, arrays).map_err(|e| ReadError::columns(&e))
    }
}

#[cfg(test)]
mod tests {
    use arrow::array::Array as _;

    use super::*;

    #[test]
    fn objects_are_columns_and_missing_keys_are_missing() -> Result<(), ReadError> {
        let text = b"{\"time\":0.5,\"arm\":{\"q\":[1,2]}}\n\n{\"time\":1}\n";
        let batch = read(text)?;
        let names: Vec<_> = batch.schema().fields().iter().map(|f| f.name().clone()).collect();
        assert_eq!((names, batch.num_rows()), (vec!["time".into(), "arm.q".into()], 2));
        assert!(batch.column(1).is_null(1) && batch.column(0).is_valid(1));
        Ok(())
    }

    #[test]
    fn a_damaged_line_is_named() {
        let error = read(b"{\"time\":0}\n{\"time\":\n").err().map(|error| error.to_string());
        assert!(error.is_some_and(|text| text.contains("line 2 is no JSON object")));
    }
}
