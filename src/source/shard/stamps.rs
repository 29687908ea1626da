//! Time stamps of a batch, in seconds.

use std::ops::Range;

use arrow::array::{Array, ArrayRef, AsArray};
use arrow::buffer::NullBuffer;
use arrow::compute::cast;
use arrow::datatypes::{DataType, Int64Type};
use arrow::record_batch::RecordBatch;

use crate::source::read_error::ReadError;
use crate::source::roles::shape::ticks_per_second;
use crate::source::shard::nested;
use crate::source::shard::numbers::{Number, holds_numbers, widened, with_numbers};

/// One batch's stamps.
pub(in crate::source) struct StampView {
    values: ArrayRef,
    nulls: Option<NullBuffer>,
    per_second: f64,
}

impl StampView {
    /// Looks at a batch; a type that states its unit overrules the dataset's ticks a second.
    pub fn of(batch: &RecordBatch, path: &[String], per_second: f64) -> Result<Self, ReadError> {
        let lost = || ReadError::Unlike(path.join("."));
        let (array, nulls) = nested::at(batch, path).ok_or_else(lost)?;
        let per_second = match array.data_type() {
            DataType::Timestamp(unit, _) | DataType::Duration(unit) => ticks_per_second(*unit),
            _ => per_second,
        };
        let values = if holds_numbers(&array) {
            widened(array)
        } else {
            cast(&array, &DataType::Int64).map_err(|_| lost())?
        };
        Ok(Self { values, nulls, per_second })
    }

    /// Writes rows in seconds; `NaN` where there is no finite stamp.
    pub fn fill(&self, rows: Range<usize>, out: &mut [f64]) {
        // Division and not a product with the unit: 33 ms then are the same 0.033 as a stored one.
        let per_second = self.per_second;
        let _ =
            with_numbers!(self.values, values => seconds(&values[rows.clone()], per_second, out));
        if let Some(nulls) = &self.nulls {
            for (to, row) in out.iter_mut().zip(rows) {
                if nulls.is_null(row) {
                    *to = f64::NAN;
                }
            }
        }
    }
}

fn seconds<T: Number>(values: &[T], per_second: f64, out: &mut [f64]) {
    for (to, value) in out.iter_mut().zip(values) {
        let time = value.wide() / per_second;
        *to = if time.is_finite() { time } else { f64::NAN };
    }
}

/// The text of a task column's row.
pub(in crate::source) fn text_at(
    batch: &RecordBatch,
    path: &[String],
    row: usize,
) -> Option<String> {
    let (array, nulls) = nested::at(batch, path)?;
    if nulls.is_some_and(|n| n.is_null(row)) {
        return None;
    }
    let one = array.slice(row, 1);
    if holds_numbers(&one) {
        let number = cast(&one, &DataType::Int64).ok()?;
        return Some(number.as_primitive::<Int64Type>().value(0).to_string());
    }
    let text = cast(&one, &DataType::Utf8).ok()?;
    text.as_string_opt::<i32>().filter(|t| t.is_valid(0)).map(|t| t.value(0).to_string())
}
