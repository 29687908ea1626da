//! The footer of a Parquet file, held against the file before it is believed.
//!
//! parquet 60.1 answers a schema of a million levels with a stack that overflows, and places of column
//! chunks outside of the file with a panic. The first ends the process.
//!
//! Reference: Apache Parquet format 2.11, `parquet.thrift` (`FileMetaData`, `SchemaElement`).

use parquet::arrow::arrow_reader::{ArrowReaderMetadata, ArrowReaderOptions};
use parquet::errors::ParquetError;
use parquet::file::metadata::{ParquetMetaData, RowGroupMetaData};
use parquet::file::reader::{ChunkReader as _, Length as _};

use crate::parquet_io::guard::guarded;
use crate::parquet_io::positioned::Positioned;
use crate::parquet_io::sizes;
use crate::parquet_io::thrift::{Broken, LIST, STRUCT, Walk};

/// Groups within groups of a schema: a struct in a list takes three.
const LEVELS: usize = 32;
/// The mark at both ends, and the length in front of the last one.
const TAIL: u64 = 8;

/// Why a footer is not believed.
#[derive(Debug)]
pub(crate) enum Unbelievable {
    /// The library refuses it, or it is none.
    Unreadable(String),
    /// It can be read, and what it states cannot be.
    Contradiction(String),
}

/// Reads a footer and holds it against the file.
pub(crate) fn load(
    input: &Positioned,
    options: ArrowReaderOptions,
) -> Result<ArrowReaderMetadata, Unbelievable> {
    vet(input)?;
    let loaded = guarded(|| ArrowReaderMetadata::load(input, options));
    let footer = read(loaded)?;
    consistent(footer.metadata(), input.len())?;
    Ok(footer)
}

/// What the library made of a footer.
pub(crate) fn read<T, E: ToString>(
    loaded: Result<Result<T, E>, crate::parquet_io::guard::Panicked>,
) -> Result<T, Unbelievable> {
    let unreadable = |what: &dyn ToString| Unbelievable::Unreadable(what.to_string());
    match loaded {
        Ok(footer) => footer.map_err(|error| unreadable(&error)),
        Err(_) => Err(unreadable(&"a length in it is wrong")),
    }
}

/// Walks over a footer before the library reads it. What is no footer is left to the library, which
/// says so.
pub(crate) fn vet(input: &Positioned) -> Result<(), Unbelievable> {
    let bytes = input.len();
    let Some(start) = bytes.checked_sub(TAIL) else { return Ok(()) };
    let unreadable = |e: ParquetError| Unbelievable::Unreadable(e.to_string());
    let tail = input.get_bytes(start, TAIL as usize).map_err(unreadable)?;
    let [a, b, c, d, mark @ ..] = &tail[..] else { return Ok(()) };
    let length = u64::from(u32::from_le_bytes([*a, *b, *c, *d]));
    if mark != b"PAR1" || length > start {
        return Ok(());
    }
    let footer = input.get_bytes(start - length, length as usize).map_err(unreadable)?;
    let broken = |what: &dyn ToString| Unbelievable::Unreadable(what.to_string());
    let mut walk = Walk::new(&footer);
    let mut last = 0;
    while let Some((field, kind)) = walk.field(&mut last).map_err(|e| broken(&e))? {
        if (field, kind) == (2, LIST) {
            schema(&mut walk.clone(), bytes)?;
        }
        walk.skip(kind).map_err(|e| broken(&e))?;
    }
    Ok(())
}

/// How deep a schema is, and how wide its values of fixed length are.
fn schema(walk: &mut Walk<'_>, bytes: u64) -> Result<(), Unbelievable> {
    let broken = |e: Broken| Unbelievable::Unreadable(e.to_string());
    let (kind, count) = walk.list().map_err(broken)?;
    if kind != STRUCT {
        return Ok(());
    }
    // Children that are still to come, of each group that is open.
    let mut open: Vec<i64> = Vec::new();
    for _ in 0..count {
        let (mut last, mut children, mut width) = (0, 0, 0);
        while let Some((field, kind)) = walk.field(&mut last).map_err(broken)? {
            match field {
                2 => width = walk.signed().map_err(broken)?,
                5 => children = walk.signed().map_err(broken)?,
                _ => walk.skip(kind).map_err(broken)?,
            }
        }
        if width < 0 || width as u64 > bytes {
            let what = format!("it states a value of {width} bytes in a file of {bytes}");
            return Err(Unbelievable::Contradiction(what));
        }
        if children < 0 || children as u64 > count {
            let what = format!("it states a group of {children} columns, of {count}");
            return Err(Unbelievable::Contradiction(what));
        }
        if let Some(left) = open.last_mut() {
            *left -= 1;
        }
        if children > 0 {
            open.push(children);
        }
        while open.last().is_some_and(|left| *left <= 0) {
            open.pop();
        }
        if open.len() > LEVELS {
            let what = format!("its columns are nested more than {LEVELS} deep");
            return Err(Unbelievable::Contradiction(what));
        }
    }
    Ok(())
}

/// Holds what a footer states against itself and the file. Each column has a value for each row, a list
/// perhaps more; memory is reserved by these counts, so a wrong one must not be used.
pub(crate) fn consistent(metadata: &ParquetMetaData, bytes: u64) -> Result<(), Unbelievable> {
    let contradiction = |what: String| Err(Unbelievable::Contradiction(what));
    let (mut rows, mut stored) = (0_u64, 0_u64);
    for (number, group) in metadata.row_groups().iter().enumerate() {
        if group.num_rows() < 0 || !counts_agree(group) {
            return contradiction(format!(
                "it contradicts itself on the rows of row group {number}"
            ));
        }
        rows = rows.saturating_add(group.num_rows() as u64);
        for column in group.columns() {
            let values = column.num_values() as u64;
            let start = column.dictionary_page_offset().unwrap_or(column.data_page_offset());
            let length = column.compressed_size();
            let end = u64::try_from(start).ok().zip(u64::try_from(length).ok());
            let end = end.and_then(|(start, length)| start.checked_add(length));
            if column.data_page_offset() < 0 || end.is_none_or(|end| end > bytes) {
                let name = column.column_descr().path();
                return contradiction(format!(
                    "column {name} of row group {number} lies outside of the file"
                ));
            }
            stored = stored.saturating_add(length as u64);
            if !sizes::holds(bytes, values) {
                return contradiction(format!("it states {values} values in {bytes} bytes"));
            }
        }
    }
    if !sizes::holds(bytes, rows) {
        return contradiction(format!("it states {rows} rows in {bytes} bytes"));
    }
    if stored > bytes {
        return contradiction(format!("its columns take {stored} of {bytes} bytes"));
    }
    Ok(())
}

fn counts_agree(group: &RowGroupMetaData) -> bool {
    let rows = group.num_rows();
    group.columns().iter().all(|column| {
        let values = column.num_values();
        if column.column_descr().max_rep_level() == 0 { values == rows } else { values >= rows }
    })
}
