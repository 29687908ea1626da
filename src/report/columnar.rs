//! Tables for other programs as CSV, by polars: the columns that Parquet has, lists as text.

use std::io::Write;

use polars::prelude::{Column as PolarsColumn, CsvWriter, DataFrame, SerWriter};

use super::shape::SpanShape;
use super::table::TableError;
use crate::store::{Column, SpanCell, Values};

/// Rows that are held at a time.
pub(super) const ROWS: usize = 8192;

/// Stretches of frames as a column has them.
pub(super) fn cells(spans: &[SpanShape]) -> Vec<SpanCell> {
    spans.iter().map(|s| SpanCell { frames: s.frames, time_s: s.time_s }).collect()
}

/// Writes parts of a table as CSV.
pub(super) fn csv(
    parts: impl Iterator<Item = Vec<Column>>,
    out: &mut (dyn Write + Send),
) -> Result<(), TableError> {
    for (number, part) in parts.enumerate() {
        let mut frame = frame(part)?;
        CsvWriter::new(&mut *out).include_header(number == 0).finish(&mut frame)?;
    }
    Ok(())
}

fn frame(part: Vec<Column>) -> Result<DataFrame, TableError> {
    let mut rows = 0;
    let columns = part.into_iter().map(|Column { name, values }| {
        let name = name.into();
        let column = match values {
            Values::Text(all) => PolarsColumn::new(name, all),
            Values::Whole(all) => PolarsColumn::new(name, all),
            Values::Number(all) => PolarsColumn::new(name, all),
            Values::Flag(all) => PolarsColumn::new(name, all),
            Values::Ids(all) => {
                PolarsColumn::new(name, all.iter().map(|ids| ids.join(";")).collect::<Vec<_>>())
            }
            Values::Spans(all) => {
                let text = |spans: &Vec<SpanCell>| serde_json::to_string(spans);
                PolarsColumn::new(name, all.iter().map(text).collect::<Result<Vec<_>, _>>()?)
            }
        };
        rows = column.len();
        Ok(column)
    });
    let columns = columns.collect::<Result<Vec<_>, TableError>>()?;
    Ok(DataFrame::new(rows, columns)?)
}
