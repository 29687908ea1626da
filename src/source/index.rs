//! The index of one file: how many rows, which episodes where, how wide the vectors. Only the
//! footer and, where its statistics do not settle it, the episode column are read.

use std::path::Path;

use arrow::datatypes::{DataType, Schema};
use parquet::file::metadata::RowGroupMetaData;
use parquet::file::statistics::Statistics;

use super::columns::{Columns, EpisodeFrom, Part};
use super::folder::hive_keys;
use super::ipc::IpcTable;
use super::nested;
use super::parquet::ParquetTable;
use super::runs::{Run, RunGatherer};
use super::shape::{ColumnPath, Shape, field_at};
use super::table::{Body, Stamp, Table};
use super::vectors::VectorView;

/// What the index knows of one file.
#[derive(Debug)]
pub(super) struct FileIndex {
    pub stamp: Stamp,
    /// Rows up to the end of each row group or record batch.
    pub ends: Vec<u64>,
    /// Runs, with episodes numbered as in `ids`.
    pub runs: Vec<Run>,
    pub ids: Vec<String>,
    pub null_rows: u64,
    /// For each list of state and action: the most common width, 0 if no row has values.
    pub widths: Box<[u32]>,
    /// Other widths seen, by number of the list.
    pub ragged: Vec<(u32, u32)>,
}

/// Indexes one file.
pub(super) fn index_file(path: &Path, columns: &Columns) -> Result<FileIndex, String> {
    let table = Table::open(path)?;
    fits(table.schema(), columns)?;
    let mut runs = RunGatherer::default();
    let ends = match &table.body {
        Body::Parquet(parquet) => parquet.ends(),
        Body::Ipc(ipc) => by_batch(ipc, &columns.episode, &mut runs)?,
    };
    let rows = ends.last().copied().unwrap_or(0);
    if rows == 0 {
        return Err(NO_ROWS.to_string());
    }
    if rows > u64::from(u32::MAX) {
        return Err("holds more than 4294967295 rows; split it".to_string());
    }
    match &columns.episode {
        EpisodeFrom::File => {
            let stem = path.file_stem().map(|s| s.to_string_lossy().into_owned());
            runs.push_text(&stem.unwrap_or_default(), rows);
        }
        EpisodeFrom::Key(key) => {
            let value = hive_keys(path).filter(|(k, _)| k == key).last();
            let (_, id) = value.ok_or_else(|| format!("lies in no folder named {key}=…"))?;
            runs.push_text(&id, rows);
        }
        EpisodeFrom::Column(column) => {
            if let Body::Parquet(parquet) = &table.body {
                by_column(&table, parquet, column, &ends, &mut runs)?;
            }
        }
    }
    let mut widths = Vec::new();
    let mut ragged = Vec::new();
    for vectors in std::iter::once(&columns.state).chain(&columns.action) {
        for (number, part) in vectors.parts.iter().enumerate().filter(|(_, part)| part.list) {
            let seen = part_widths(&table, vectors, number, part, rows)?;
            let list = widths.len();
            widths.push(seen.first().map_or(0, |&w| w as u32));
            ragged.extend(seen.iter().skip(1).map(|&w| (list as u32, w as u32)));
        }
    }
    let RunGatherer { runs, ids, null_rows, .. } = runs;
    let (stamp, widths) = (table.stamp, widths.into());
    Ok(FileIndex { stamp, ends, runs, ids, null_rows, widths, ragged })
}

/// Counts the record batches' rows and gathers the runs of an episode column in one pass.
fn by_batch(
    ipc: &IpcTable,
    from: &EpisodeFrom,
    runs: &mut RunGatherer,
) -> Result<Vec<u64>, String> {
    let wanted: Vec<ColumnPath> = match from {
        EpisodeFrom::Column(column) => vec![column.clone()],
        _ => Vec::new(),
    };
    let mut failed = None;
    let ends = ipc.count(&wanted, &mut |batch| {
        let ids = wanted.first().and_then(|column| nested::at(batch, column));
        failed = ids.and_then(|(array, _)| runs.push_array(&array).err());
        failed.is_none()
    })?;
    failed.map_or(Ok(ends), Err)
}

/// Why a file without rows is not read.
pub(super) const NO_ROWS: &str = "holds no rows";

/// Whether a file has the columns that were cast, in shapes that can play their roles.
fn fits(schema: &Schema, columns: &Columns) -> Result<(), String> {
    let shape = |path: &[String]| {
        let field = field_at(schema, path);
        field.map(|f| Shape::of(f.data_type())).ok_or_else(|| {
            format!("has no column \"{}\", which the other files have", path.join("."))
        })
    };
    let odd = |path: &[String], shape: &Shape| {
        Err(format!(
            "its column \"{}\" is {}, unlike the other files'",
            path.join("."),
            shape.words()
        ))
    };
    for part in columns.state.parts.iter().chain(columns.action.iter().flat_map(|a| &a.parts)) {
        match (shape(&part.path)?, part.list) {
            (Shape::List { .. }, true) | (Shape::Number(_), false) => {}
            (other, _) => return odd(&part.path, &other),
        }
    }
    if let Some(time) = &columns.time {
        match shape(&time.path)? {
            Shape::Number(_) | Shape::Time { .. } => {}
            other => return odd(&time.path, &other),
        }
    }
    if let EpisodeFrom::Column(path) = &columns.episode {
        match shape(path)? {
            Shape::Number(number) if number.is_integer() => {}
            Shape::Text => {}
            other => return odd(path, &other),
        }
    }
    columns.task.iter().try_for_each(|path| shape(path).map(|_| ()))
}

/// Runs from the episode column; a row group whose statistics name a single id is not decoded.
fn by_column(
    table: &Table,
    parquet: &ParquetTable,
    column: &[String],
    ends: &[u64],
    runs: &mut RunGatherer,
) -> Result<(), String> {
    let wanted = [column.to_vec()];
    let mut undecided = 0..0;
    for (group, &end) in ends.iter().enumerate() {
        let start = if group == 0 { 0 } else { ends[group - 1] };
        let single = single_id(table.schema(), parquet, column, group);
        if single.is_none() {
            undecided.end = end;
        }
        if single.is_some() || group + 1 == ends.len() {
            if !undecided.is_empty() {
                decode(table, &wanted, undecided.clone(), runs)?;
            }
            undecided = end..end;
        }
        match single {
            Some(Single::Number(id)) => runs.push_number(id, end - start),
            Some(Single::Text(id)) => runs.push_text(&id, end - start),
            None => {}
        }
    }
    Ok(())
}

fn decode(
    table: &Table,
    wanted: &[Vec<String>; 1],
    rows: std::ops::Range<u64>,
    runs: &mut RunGatherer,
) -> Result<(), String> {
    let mut failed = None;
    table.scan(wanted, std::slice::from_ref(&rows), &mut |batch| {
        let pushed = match nested::at(batch, &wanted[0]) {
            Some((array, _)) => runs.push_array(&array),
            None => Err("the episode column is missing".to_string()),
        };
        failed = pushed.err();
        failed.is_none()
    })?;
    match failed {
        Some(reason) => Err(reason),
        None if runs.rows != rows.end => Err(format!("ends at row {} of {}", runs.rows, rows.end)),
        None => Ok(()),
    }
}

enum Single {
    Number(i64),
    Text(String),
}

/// The id of a row group with no other, by its statistics.
fn single_id(
    schema: &Schema,
    parquet: &ParquetTable,
    column: &[String],
    group: usize,
) -> Option<Single> {
    let &[leaf] = parquet.leaves(column).as_slice() else { return None };
    let group: &RowGroupMetaData = &parquet.groups()[group];
    let statistics = group.column(leaf).statistics()?;
    if statistics.null_count_opt() != Some(0) {
        return None;
    }
    let stored = field_at(schema, column)?.data_type();
    match statistics {
        Statistics::Int32(s)
            if matches!(stored, DataType::Int8 | DataType::Int16 | DataType::Int32) =>
        {
            let (min, max) = (s.min_opt()?, s.max_opt()?);
            (min == max).then(|| Single::Number(i64::from(*min)))
        }
        Statistics::Int64(s) if *stored == DataType::Int64 => {
            let (min, max) = (s.min_opt()?, s.max_opt()?);
            (min == max).then_some(Single::Number(*min))
        }
        // Bounds of texts may be cut short, so only exact ones count.
        Statistics::ByteArray(s)
            if *stored == DataType::Utf8 && s.min_is_exact() && s.max_is_exact() =>
        {
            let (min, max) = (s.min_opt()?, s.max_opt()?);
            let text = std::str::from_utf8(min.data()).ok()?;
            (min == max).then(|| Single::Text(text.to_string()))
        }
        _ => None,
    }
}

/// The widths of a list's rows: from the footer's count of values where that settles it, else
/// from the first rows.
fn part_widths(
    table: &Table,
    vectors: &super::columns::Vectors,
    number: usize,
    part: &Part,
    rows: u64,
) -> Result<Vec<usize>, String> {
    if let Body::Parquet(parquet) = &table.body
        && let &[leaf] = parquet.leaves(&part.path).as_slice()
    {
        let held = |group: &RowGroupMetaData| group.column(leaf).num_values() as u64;
        let values: u64 = parquet.groups().iter().map(held).sum();
        // A null or empty list counts as one value, so one a row says nothing.
        if values.is_multiple_of(rows) && values > rows {
            return Ok(vec![(values / rows) as usize]);
        }
    }
    let mut counts: Vec<(usize, usize)> = Vec::new();
    let mut failed = None;
    let widths = vec![0; vectors.parts.len()];
    let wanted: Vec<_> = vectors.parts.iter().map(|p| p.path.clone()).collect();
    let first = 0..rows.min(8192);
    table.scan(&wanted, std::slice::from_ref(&first), &mut |batch| {
        match VectorView::of(batch, vectors, &widths) {
            Ok(view) => {
                for width in view.lengths(number, batch.num_rows()) {
                    match counts.iter_mut().find(|(known, _)| *known == width) {
                        Some((_, count)) => *count += 1,
                        None => counts.push((width, 1)),
                    }
                }
            }
            Err(reason) => failed = Some(reason),
        }
        failed.is_none()
    })?;
    if let Some(reason) = failed {
        return Err(reason);
    }
    counts.retain(|(width, _)| *width > 0);
    counts.sort_by_key(|&(width, count)| (std::cmp::Reverse(count), width));
    Ok(counts.into_iter().map(|(width, _)| width).collect())
}
