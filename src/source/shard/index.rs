//! The index of one file: how many rows, which episodes where, how wide the vectors. Only the
//! footer and, where its statistics do not settle it, the episode column are read.

use std::path::Path;

use arrow::datatypes::Schema;

use crate::model::name_text;
use crate::parquet_io::sizes;
use crate::source::format::kept::Held;
use crate::source::format::open::{Known, Stamp, TableFile};
use crate::source::format::table::{Kept, SingleId, Table};
use crate::source::read_error::ReadError;
use crate::source::roles::folder::hive_keys;
use crate::source::roles::parts::{Columns, EpisodeFrom, Part, Vectors};
use crate::source::roles::shape::{ColumnPath, Shape, field_at};
use crate::source::shard::nested;
use crate::source::shard::runs::{Run, RunGatherer};
use crate::source::shard::vectors::VectorView;

/// What the index knows of one file.
#[derive(Debug)]
pub(in crate::source) struct FileIndex {
    pub stamp: Stamp,
    /// Its rows, where they were parsed and are held.
    pub held: Option<Kept>,
    /// Rows up to the end of each piece.
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
pub(in crate::source) fn index_file(
    path: &Path,
    columns: &Columns,
    known: Known<'_>,
    held: &Held,
) -> Result<FileIndex, ReadError> {
    let TableFile { stamp, table } = TableFile::index(path, known)?;
    let table = table.as_ref();
    fits(table.schema(), columns)?;
    let mut runs = RunGatherer::default();
    let known = table.known_ends();
    let counted = known.is_none();
    let ends = match known {
        Some(ends) => ends,
        None => by_piece(table, &columns.episode, &mut runs)?,
    };
    let rows = ends.last().copied().unwrap_or(0);
    if rows == 0 {
        return Err(ReadError::NoRows);
    }
    if rows > u64::from(u32::MAX) {
        return Err(ReadError::TooManyRows);
    }
    if !sizes::holds(stamp.bytes, rows) {
        let what = format!("it states {rows} rows in {} bytes", stamp.bytes);
        return Err(ReadError::Damaged(what));
    }
    match &columns.episode {
        EpisodeFrom::File => {
            // What is piped in lies under the number of an open file.
            let piped = path.starts_with("/dev/fd");
            let stem = path.file_stem().map(name_text).filter(|_| !piped);
            runs.push_text(&stem.unwrap_or_else(|| "stdin".to_owned()), rows);
        }
        EpisodeFrom::Key(key) => {
            let value = hive_keys(path).filter(|(k, _)| k == key).last();
            let (_, id) = value.ok_or_else(|| ReadError::NoFolder(key.clone()))?;
            runs.push_text(&id, rows);
        }
        EpisodeFrom::Column(column) => {
            if !counted {
                by_column(table, column, &ends, &mut runs)?;
            }
        }
    }
    let mut widths = Vec::new();
    let mut ragged = Vec::new();
    for vectors in std::iter::once(&columns.state).chain(&columns.action) {
        for (number, part) in vectors.parts.iter().enumerate().filter(|(_, part)| part.list) {
            let seen = part_widths(table, vectors, number, part, rows)?;
            let list = widths.len();
            widths.push(seen.first().map_or(0, |&w| w as u32));
            ragged.extend(seen.iter().skip(1).map(|&w| (list as u32, w as u32)));
        }
    }
    let lone = columns.parts().filter(|part| !part.list).count() as u64;
    let values = lone + widths.iter().map(|width| u64::from(*width)).sum::<u64>();
    within_memory(&runs.runs, rows, values)?;
    let RunGatherer { runs, ids, null_rows, .. } = runs;
    let widths = widths.into();
    let held = held.keep(table);
    Ok(FileIndex { stamp, held, ends, runs, ids, null_rows, widths, ragged })
}

/// Whether the longest stretch of an episode can be held: all its rows are in memory at once.
fn within_memory(runs: &[Run], rows: u64, values: u64) -> Result<(), ReadError> {
    // A stamp, and each value as it is read and as it is measured.
    let row = 8 + 8 * values;
    let starts = runs.iter().map(|run| u64::from(run.start)).chain([rows]);
    let longest = starts.clone().skip(1).zip(starts).map(|(end, start)| end.saturating_sub(start));
    let frames = longest.max().unwrap_or(0);
    if frames.saturating_mul(row) > sizes::memory() {
        return Err(ReadError::Memory { frames, bytes: frames.saturating_mul(row) });
    }
    Ok(())
}

/// Counts the rows of each piece and gathers the runs of an episode column in one pass.
fn by_piece(
    table: &dyn Table,
    from: &EpisodeFrom,
    runs: &mut RunGatherer,
) -> Result<Vec<u64>, ReadError> {
    let wanted: Vec<ColumnPath> = match from {
        EpisodeFrom::Column(column) => vec![column.clone()],
        _ => Vec::new(),
    };
    let mut failed = None;
    let ends = table.count(&wanted, &mut |batch| {
        let ids = wanted.first().and_then(|column| nested::at(batch, column));
        failed = ids.and_then(|(array, _)| runs.push_array(&array).err());
        failed.is_none()
    })?;
    failed.map_or(Ok(ends), Err)
}

/// Checks that a file has the columns of the roles, in shapes that can play their roles.
fn fits(schema: &Schema, columns: &Columns) -> Result<(), ReadError> {
    let shape = |path: &[String]| {
        let field = field_at(schema, path);
        field.map(|f| Shape::of(f.data_type())).ok_or_else(|| ReadError::NoColumn(path.join(".")))
    };
    let odd = |path: &[String], shape: &Shape| {
        Err(ReadError::OtherShape { column: path.join("."), shape: shape.words() })
    };
    for part in columns.parts() {
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
    columns.task.iter().chain(&columns.labels).try_for_each(|path| shape(path).map(|_| ()))
}

/// Runs from the episode column; a piece whose statistics name a single id is not decoded.
fn by_column(
    table: &dyn Table,
    column: &[String],
    ends: &[u64],
    runs: &mut RunGatherer,
) -> Result<(), ReadError> {
    let wanted = [column.to_vec()];
    let mut undecided = 0..0;
    for (piece, &end) in ends.iter().enumerate() {
        let start = if piece == 0 { 0 } else { ends[piece - 1] };
        let single = table.single_id(column, piece);
        if single.is_none() {
            undecided.end = end;
        }
        if single.is_some() || piece + 1 == ends.len() {
            if !undecided.is_empty() {
                decode(table, &wanted, undecided.clone(), runs)?;
            }
            undecided = end..end;
        }
        match single {
            Some(SingleId::Number(id)) => runs.push_number(id, end - start),
            Some(SingleId::Text(id)) => runs.push_text(&id, end - start),
            None => {}
        }
    }
    Ok(())
}

fn decode(
    table: &dyn Table,
    wanted: &[Vec<String>; 1],
    rows: std::ops::Range<u64>,
    runs: &mut RunGatherer,
) -> Result<(), ReadError> {
    let mut failed = None;
    table.scan(wanted, std::slice::from_ref(&rows), &mut |batch| {
        let pushed = match nested::at(batch, &wanted[0]) {
            Some((array, _)) => runs.push_array(&array),
            None => Err(ReadError::NoEpisodes),
        };
        failed = pushed.err();
        failed.is_none()
    })?;
    match failed {
        Some(reason) => Err(reason),
        None if runs.rows != rows.end => {
            Err(ReadError::EndsEarly { at: runs.rows, rows: rows.end })
        }
        None => Ok(()),
    }
}

/// The widths of a list's rows: from the footer's count of values where that settles it, else
/// from the first rows.
fn part_widths(
    table: &dyn Table,
    vectors: &Vectors,
    number: usize,
    part: &Part,
    rows: u64,
) -> Result<Vec<usize>, ReadError> {
    if let Some(values) = table.values(&part.path) {
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
