//! Columns made of cells of text: numbers, moments, vectors, words.

use std::sync::Arc;

use arrow::array::{
    ArrayRef, BooleanArray, Float64Array, Float64Builder, Int64Array, ListBuilder, StringArray,
    TimestampNanosecondArray,
};
use chrono::{DateTime, NaiveDateTime};
use serde_json::Value;

use crate::source::read_error::ReadError;

/// A column of texts: moments where all of them are (ISO 8601), vectors where all are JSON arrays
/// of numbers, else words.
pub(super) fn of_texts(name: &str, texts: &[Option<&str>]) -> Result<ArrayRef, ReadError> {
    let first = texts.iter().flatten().find(|text| !text.trim().is_empty());
    match first {
        Some(first) if first.trim_start().starts_with('[') => vectors(name, texts),
        Some(first) if moment_ns(first).is_some() => Ok(moments(texts)),
        _ => Ok(Arc::new(texts.iter().copied().collect::<StringArray>())),
    }
}

/// Nanoseconds since 1970 of an ISO 8601 moment; one without a zone is taken for UTC.
fn moment_ns(text: &str) -> Option<i64> {
    let text = text.trim();
    if let Ok(moment) = DateTime::parse_from_rfc3339(text) {
        return moment.timestamp_nanos_opt();
    }
    let forms = ["%Y-%m-%dT%H:%M:%S%.f", "%Y-%m-%d %H:%M:%S%.f"];
    let naive = forms.iter().find_map(|form| NaiveDateTime::parse_from_str(text, form).ok())?;
    naive.and_utc().timestamp_nanos_opt()
}

/// A text that is no moment among others that are is a missing stamp, which a check counts.
fn moments(texts: &[Option<&str>]) -> ArrayRef {
    let moments = texts.iter().map(|text| text.and_then(moment_ns));
    Arc::new(moments.collect::<TimestampNanosecondArray>())
}

fn vectors(name: &str, texts: &[Option<&str>]) -> Result<ArrayRef, ReadError> {
    let mut list = ListBuilder::new(Float64Builder::new());
    for (row, text) in texts.iter().enumerate() {
        let Some(text) = text.filter(|text| !text.trim().is_empty()) else {
            list.append_null();
            continue;
        };
        let value: Value = serde_json::from_str(text)
            .map_err(|e| odd(name, row, &format!("is no JSON array ({e})")))?;
        push(&mut list, name, row, &value)?;
    }
    Ok(Arc::new(list.finish()))
}

fn push(
    list: &mut ListBuilder<Float64Builder>,
    name: &str,
    row: usize,
    value: &Value,
) -> Result<(), ReadError> {
    let Value::Array(items) = value else {
        return Err(odd(name, row, "is no array"));
    };
    for item in items {
        match item {
            Value::Number(number) => {
                list.values().append_value(number.as_f64().unwrap_or(f64::NAN));
            }
            Value::Null => list.values().append_value(f64::NAN),
            _ => return Err(odd(name, row, "holds something else than numbers")),
        }
    }
    list.append(true);
    Ok(())
}

fn odd(name: &str, row: usize, what: &str) -> ReadError {
    ReadError::Columns(format!("column \"{name}\", row {}: {what}", row + 1))
}

/// A column of JSON values: the first that is there says what all of them are.
pub(super) fn of_values(name: &str, values: &[Option<Value>]) -> Result<ArrayRef, ReadError> {
    let there = || values.iter().flatten().filter(|value| !value.is_null());
    let all = |fits: fn(&Value) -> bool| there().all(fits);
    let array: ArrayRef = match there().next() {
        None => Arc::new(Float64Array::from(vec![None::<f64>; values.len()])),
        Some(Value::Number(_)) if all(Value::is_i64) => {
            let of = |value: &Option<Value>| value.as_ref().and_then(Value::as_i64);
            Arc::new(values.iter().map(of).collect::<Int64Array>())
        }
        Some(Value::Number(_)) if all(Value::is_number) => {
            let of = |value: &Option<Value>| value.as_ref().and_then(Value::as_f64);
            Arc::new(values.iter().map(of).collect::<Float64Array>())
        }
        Some(Value::Bool(_)) if all(Value::is_boolean) => {
            let of = |value: &Option<Value>| value.as_ref().and_then(Value::as_bool);
            Arc::new(values.iter().map(of).collect::<BooleanArray>())
        }
        Some(Value::Array(_)) if all(Value::is_array) => {
            let mut list = ListBuilder::new(Float64Builder::new());
            for (row, value) in values.iter().enumerate() {
                match value.as_ref().filter(|value| !value.is_null()) {
                    Some(value) => push(&mut list, name, row, value)?,
                    None => list.append_null(),
                }
            }
            Arc::new(list.finish())
        }
        Some(Value::String(_)) if all(Value::is_string) => {
            let of =
                |value: &Option<Value>| value.as_ref().and_then(Value::as_str).map(str::to_owned);
            let texts: Vec<Option<String>> = values.iter().map(of).collect();
            return of_texts(name, &texts.iter().map(Option::as_deref).collect::<Vec<_>>());
        }
        Some(first) => {
            let other = |value: &Option<Value>| {
                let value = value.as_ref().filter(|value| !value.is_null());
                value.is_some_and(|value| kind(value) != kind(first))
            };
            let row = values.iter().position(other).unwrap_or(0);
            let found = values[row].as_ref().map_or("nothing", kind);
            let what = format!("is {found}, and {} before", kind(first));
            return Err(odd(name, row, &what));
        }
    };
    Ok(array)
}

const fn kind(value: &Value) -> &'static str {
    match value {
        Value::Null => "nothing",
        Value::Bool(_) => "true or false",
        Value::Number(_) => "a number",
        Value::String(_) => "a text",
        Value::Array(_) => "an array",
        Value::Object(_) => "an object",
    }
}

#[cfg(test)]
mod tests {
    use arrow::datatypes::DataType;
    use serde_json::json;

    use super::*;

    /// Moments of RFC 3339, section 5.8: the first two are the same instant there.
    #[test]
    fn moments_are_read_with_and_without_a_zone() {
        let pacific = moment_ns("1996-12-19T16:39:57-08:00");
        assert_eq!(pacific, moment_ns("1996-12-20T00:39:57Z"));
        assert_eq!(pacific, Some(851_042_397_000_000_000));
        assert_eq!(moment_ns("1985-04-12T23:20:50.52Z"), moment_ns("1985-04-12 23:20:50.520"));
        assert_eq!(moment_ns("elbow"), None);
    }

    #[test]
    fn texts_become_what_they_hold() -> Result<(), ReadError> {
        let vectors = of_texts("follower", &[Some("[1, 2.5]"), None, Some("[null]")])?;
        assert!(matches!(vectors.data_type(), DataType::List(_)) && vectors.is_null(1));
        let words = of_texts("task", &[Some("pot"), Some("2024-01-01T00:00:00Z")])?;
        assert_eq!(words.data_type(), &DataType::Utf8);
        let wrong = of_texts("follower", &[Some("[1]"), Some("[\"a\"]")]);
        let text = wrong.err().map(|error| error.to_string()).unwrap_or_default();
        assert_eq!(text, "column \"follower\", row 2: holds something else than numbers");
        Ok(())
    }

    #[test]
    fn values_of_two_kinds_are_refused_with_their_row() {
        let error = of_values("time", &[Some(json!(1)), None, Some(json!("late"))]);
        let text = error.err().map(|error| error.to_string()).unwrap_or_default();
        assert_eq!(text, "column \"time\", row 3: is a text, and a number before");
    }
}
