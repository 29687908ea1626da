//! Stretches of rows with the same episode id.

use std::collections::HashMap;

use arrow::array::{Array, ArrayRef, AsArray};
use arrow::compute::cast;
use arrow::datatypes::{DataType, Int64Type};

use crate::source::read_error::ReadError;

/// In place of an episode: these rows have none.
pub(in crate::source) const NONE: u32 = u32::MAX;

/// A stretch of rows of one episode, from this row of its file up to the next run's.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::source) struct Run {
    pub start: u32,
    pub episode: u32,
}

/// Gathers the runs of one file; episodes are numbered as they appear in it.
#[derive(Debug, Default)]
pub(in crate::source) struct RunGatherer {
    pub runs: Vec<Run>,
    pub ids: Vec<String>,
    pub rows: u64,
    pub null_rows: u64,
    numbers: HashMap<i64, u32>,
    texts: HashMap<String, u32>,
}

impl RunGatherer {
    /// Rows with one id.
    pub fn push_text(&mut self, id: &str, rows: u64) {
        let next = self.ids.len() as u32;
        let episode = if let Some(&known) = self.texts.get(id) {
            known
        } else {
            self.texts.insert(id.to_string(), next);
            self.ids.push(id.to_string());
            next
        };
        self.push(episode, rows);
    }

    /// Rows with one number for an id.
    pub fn push_number(&mut self, id: i64, rows: u64) {
        let next = self.ids.len() as u32;
        let episode = *self.numbers.entry(id).or_insert_with(|| {
            self.ids.push(id.to_string());
            next
        });
        self.push(episode, rows);
    }

    fn push_null(&mut self, rows: u64) {
        self.null_rows += rows;
        self.push(NONE, rows);
    }

    fn push(&mut self, episode: u32, rows: u64) {
        if self.runs.last().is_none_or(|last| last.episode != episode) {
            self.runs.push(Run { start: self.rows as u32, episode });
        }
        self.rows += rows;
    }

    /// Rows of a column.
    pub fn push_array(&mut self, array: &ArrayRef) -> Result<(), ReadError> {
        let signed = matches!(
            array.data_type(),
            DataType::Int8
                | DataType::Int16
                | DataType::Int32
                | DataType::Int64
                | DataType::UInt8
                | DataType::UInt16
                | DataType::UInt32
        );
        let kind = if signed { DataType::Int64 } else { DataType::Utf8 };
        let array = cast(array, &kind).map_err(|e| ReadError::Ids(e.to_string()))?;
        let nulls = array.nulls().filter(|n| n.null_count() > 0);
        if signed {
            let ids = array.as_primitive::<Int64Type>().values();
            let same = |a: usize, b: usize| ids[a] == ids[b];
            stretches(ids.len(), nulls, same, |at, rows| match at {
                Some(at) => self.push_number(ids[at], rows),
                None => self.push_null(rows),
            });
        } else {
            let ids = array.as_string::<i32>();
            let same = |a: usize, b: usize| ids.value(a) == ids.value(b);
            stretches(ids.len(), nulls, same, |at, rows| match at {
                Some(at) => self.push_text(ids.value(at), rows),
                None => self.push_null(rows),
            });
        }
        Ok(())
    }
}

/// Shows each stretch of equal values by its first row, or none for nulls, and its length.
fn stretches(
    len: usize,
    nulls: Option<&arrow::buffer::NullBuffer>,
    same: impl Fn(usize, usize) -> bool,
    mut show: impl FnMut(Option<usize>, u64),
) {
    let valid = |i: usize| nulls.is_none_or(|n| n.is_valid(i));
    let mut start = 0;
    for i in 1..=len {
        let goes_on = i < len && valid(i) == valid(start) && (!valid(i) || same(i - 1, i));
        if !goes_on {
            show(valid(start).then_some(start), (i - start) as u64);
            start = i;
        }
    }
}
