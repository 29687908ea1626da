//! Copies a Parquet file.

use std::io::Write;
use std::sync::Arc;

use bytes::Bytes;
use parquet::bloom_filter::Sbbf;
use parquet::column::writer::{ColumnCloseResult, ColumnWriter, get_column_writer};
use parquet::file::metadata::ColumnChunkMetaData;
use parquet::file::properties::WriterPropertiesPtr;
use parquet::file::writer::{
    SerializedFileWriter, SerializedPageWriter, SerializedRowGroupWriter, TrackedWrite,
};
use rayon::prelude::*;

use crate::parquet_io::guard::guarded;
use crate::source::copy::error::Trouble;
use crate::source::copy::leaf::copy;
use crate::source::copy::parquet_input::ParquetInput;
use crate::source::copy::parquet_plan::{Group, Part, groups};
use crate::source::copy::properties::like;
use crate::source::copy::table::{Piece, TableCopy};
use crate::source::read_error::{ReadError, plain};

/// The columns of a row group are made side by side, in memory, up to this many stored bytes; beyond
/// it one after the other, straight into the file.
const IN_MEMORY: i64 = 48 << 20;
/// A row group is copied as bytes with one read up to this many, else column by column.
const AT_ONCE: u64 = 16 << 20;

/// Writes the wanted rows.
pub(super) fn write<W: Write + Send>(
    file: &ParquetInput,
    table: &TableCopy,
    out: W,
) -> Result<W, Trouble> {
    let properties = like(&file.metadata, &table.note);
    let schema = file.metadata.file_metadata().schema_descr().root_schema_ptr();
    let writing = |e: parquet::errors::ParquetError| Trouble::writing(&e);
    let writer = SerializedFileWriter::new(out, schema, Arc::clone(&properties));
    let mut writer = writer.map_err(writing)?;
    for group in groups(&file.starts, &table.pieces) {
        let mut row_group = writer.next_row_group().map_err(writing)?;
        match group {
            Group::Whole(group) => whole(file, group, &mut row_group)?,
            Group::Parts(parts) if stored_bytes(file, &parts) <= IN_MEMORY => {
                in_memory(file, &parts, &table.pieces, &properties, &mut row_group)?;
            }
            Group::Parts(parts) => {
                let mut leaf = 0;
                while let Some(mut column) = row_group.next_column().map_err(writing)? {
                    any(file, (leaf, &parts), &table.pieces, column.untyped())?;
                    column.close().map_err(writing)?;
                    leaf += 1;
                }
            }
        }
        row_group.close().map_err(writing)?;
    }
    writer.into_inner().map_err(writing)
}

/// Bytes that the row groups of these parts have in the input.
fn stored_bytes(file: &ParquetInput, parts: &[Part]) -> i64 {
    let mut groups: Vec<usize> = parts.iter().map(|part| file.group_of(part.rows.start)).collect();
    groups.dedup();
    groups.iter().map(|group| file.metadata.row_group(*group).compressed_size()).sum()
}

/// Copies a row group as it is stored.
fn whole<W: Write + Send>(
    file: &ParquetInput,
    group: usize,
    row_group: &mut SerializedRowGroupWriter<'_, W>,
) -> Result<(), Trouble> {
    let stored = file.metadata.row_group(group);
    let pages = file.metadata.page_index_for_row_group(group);
    let ranges = || stored.columns().iter().map(ColumnChunkMetaData::byte_range);
    let start = ranges().map(|(start, _)| start).min().unwrap_or(0);
    let end = ranges().map(|(start, length)| start + length).max().unwrap_or(0);
    let mut input = file.input.clone();
    if end - start <= AT_ONCE {
        input = input.hold(std::iter::once(start..end)).map_err(ReadError::Read)?;
    }
    for (leaf, column) in stored.columns().iter().enumerate() {
        let (start, length) = column.byte_range();
        let mut one = input.clone();
        if length <= AT_ONCE {
            one = one.hold(std::iter::once(start..start + length)).map_err(ReadError::Read)?;
        }
        let filter = Sbbf::read_from_column_chunk(column, &file.input)
            .map_err(|e| ReadError::Damaged(plain(&e.to_string())))?;
        let close = ColumnCloseResult {
            bytes_written: column.compressed_size() as u64,
            rows_written: stored.num_rows() as u64,
            metadata: column.clone(),
            bloom_filter: filter,
            column_index: pages.column_index(leaf).cloned(),
            offset_index: pages.offset_index(leaf).cloned(),
        };
        row_group.append_column(&one, close).map_err(|e| Trouble::writing(&e))?;
    }
    Ok(())
}

/// Writes a row group whose columns are made side by side.
fn in_memory<W: Write + Send>(
    file: &ParquetInput,
    parts: &[Part],
    pieces: &[Piece],
    properties: &WriterPropertiesPtr,
    row_group: &mut SerializedRowGroupWriter<'_, W>,
) -> Result<(), Trouble> {
    let made = (0..file.leaves()).into_par_iter().map(|leaf| {
        let descriptor = file.metadata.file_metadata().schema_descr().column(leaf);
        let mut sink = TrackedWrite::new(Vec::new());
        let pages = Box::new(SerializedPageWriter::new(&mut sink));
        let mut writer = get_column_writer(descriptor, Arc::clone(properties), pages);
        any(file, (leaf, parts), pieces, &mut writer)?;
        let close = writer.close().map_err(|e| Trouble::writing(&e))?;
        let bytes = sink.into_inner().map_err(|e| Trouble::writing(&e))?;
        Ok((Bytes::from(bytes), close))
    });
    let made: Vec<(Bytes, ColumnCloseResult)> = made.collect::<Result<_, Trouble>>()?;
    for (bytes, close) in made {
        row_group.append_column(&bytes, close).map_err(|e| Trouble::writing(&e))?;
    }
    Ok(())
}

/// Copies a column of any type.
fn any(
    file: &ParquetInput,
    from: (usize, &[Part]),
    pieces: &[Piece],
    writer: &mut ColumnWriter<'_>,
) -> Result<(), Trouble> {
    guarded(|| match writer {
        ColumnWriter::BoolColumnWriter(to) => copy(file, from, pieces, to),
        ColumnWriter::Int32ColumnWriter(to) => copy(file, from, pieces, to),
        ColumnWriter::Int64ColumnWriter(to) => copy(file, from, pieces, to),
        ColumnWriter::Int96ColumnWriter(to) => copy(file, from, pieces, to),
        ColumnWriter::FloatColumnWriter(to) => copy(file, from, pieces, to),
        ColumnWriter::DoubleColumnWriter(to) => copy(file, from, pieces, to),
        ColumnWriter::ByteArrayColumnWriter(to) => copy(file, from, pieces, to),
        ColumnWriter::FixedLenByteArrayColumnWriter(to) => copy(file, from, pieces, to),
    })?
}
