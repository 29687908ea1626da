//! Columns that polars parsed from text, as columns of Arrow.

use std::sync::Arc;

use arrow::array::{ArrayRef, BooleanArray, Float64Array, Int64Array};
use polars::prelude::{ChunkedArray, Column, DataType, PolarsError, PolarsNumericType};

use crate::source::format::cells;
use crate::source::read_error::ReadError;

/// Numbers stay as they are stored; texts are what they hold.
pub(super) fn array(
    name: &str,
    column: Column,
    decimal_comma: bool,
) -> Result<ArrayRef, ReadError> {
    let odd = |e: PolarsError| ReadError::Columns(first_line(&e.to_string()));
    Ok(match column.dtype() {
        DataType::Int64 => {
            let series = column.take_materialized_series();
            let numbers = series.i64().map_err(odd)?.clone();
            drop(series);
            match values(numbers) {
                Ok(values) => Arc::new(Int64Array::from(values)),
                Err(numbers) => Arc::new(numbers.iter().collect::<Int64Array>()),
            }
        }
        DataType::Boolean => Arc::new(column.bool().map_err(odd)?.iter().collect::<BooleanArray>()),
        DataType::String => {
            let texts: Vec<Option<&str>> = column.str().map_err(odd)?.iter().collect();
            return match of_numbers(&texts, decimal_comma) {
                Some(numbers) => Ok(numbers),
                None => cells::of_texts(name, &texts),
            };
        }
        kind => {
            let series = if *kind == DataType::Float64 {
                column.take_materialized_series()
            } else {
                column.cast(&DataType::Float64).map_err(odd)?.take_materialized_series()
            };
            let numbers = series.f64().map_err(odd)?.clone();
            drop(series);
            match values(numbers) {
                Ok(values) => Arc::new(Float64Array::from(values)),
                Err(numbers) => Arc::new(numbers.iter().collect::<Float64Array>()),
            }
        }
    })
}

/// The values of a column that misses none: in one piece they are moved and not copied, as long as nothing
/// else holds them. The column again where some are missing.
fn values<T: PolarsNumericType>(
    numbers: ChunkedArray<T>,
) -> Result<Vec<T::Native>, ChunkedArray<T>> {
    if numbers.null_count() > 0 {
        return Err(numbers);
    }
    let mut pieces = numbers.downcast_into_iter().map(|piece| piece.into_inner().1.to_vec());
    let mut all = pieces.next().unwrap_or_default();
    pieces.for_each(|piece| all.extend(piece));
    Ok(all)
}

/// Texts all of which are whole numbers, numbers, or truth values, where there are any.
fn of_numbers(texts: &[Option<&str>], decimal_comma: bool) -> Option<ArrayRef> {
    texts.iter().flatten().next()?;
    let real = |text: &str| {
        let parsed = if decimal_comma { text.replace(',', ".").parse() } else { text.parse() };
        parsed.ok()
    };
    let whole: Option<Int64Array> = all(texts, |text| text.parse().ok());
    if let Some(whole) = whole {
        return Some(Arc::new(whole));
    }
    if let Some(reals) = all::<f64, Float64Array>(texts, real) {
        return Some(Arc::new(reals));
    }
    let truth = |text: &str| text.to_ascii_lowercase().parse::<bool>().ok();
    all::<bool, BooleanArray>(texts, truth).map(|truths| Arc::new(truths) as ArrayRef)
}

/// What all texts are; none where one is something else.
fn all<T, A: FromIterator<Option<T>>>(
    texts: &[Option<&str>],
    of: impl Fn(&str) -> Option<T>,
) -> Option<A> {
    let one = |text: Option<&str>| match text.map(str::trim).filter(|text| !text.is_empty()) {
        Some(text) => of(text).map(Some),
        None => Some(None),
    };
    texts.iter().copied().map(one).collect()
}

/// The first line of what polars says.
pub(super) fn first_line(text: &str) -> String {
    text.lines().next().unwrap_or_default().trim_end_matches([':', ' ']).to_owned()
}
