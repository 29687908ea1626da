//! A Parquet file that is copied: its footer as it is, and a cursor over the values of a column.

use std::fs::File;
use std::ops::Range;
use std::sync::Arc;

use parquet::arrow::arrow_reader::RowGroups as _;
use parquet::column::reader::{ColumnReaderImpl, get_column_reader, get_typed_column_reader};
use parquet::data_type::DataType;
use parquet::file::metadata::{
    PageIndexPolicy, ParquetMetaData, ParquetMetaDataOptions, ParquetMetaDataReader,
};

use crate::parquet_io::footer;
use crate::parquet_io::guard::guarded;
use crate::parquet_io::pages::GroupPages;
use crate::parquet_io::positioned::Positioned;
use crate::source::read_error::ReadError;

/// A column chunk is held in memory up to this many bytes; beyond it pages are fetched one by one.
const HELD: u64 = 16 << 20;
/// Records decoded at a time.
const RECORDS: usize = 8192;

/// An open Parquet file.
#[derive(Debug)]
pub(super) struct ParquetInput {
    pub input: Positioned,
    pub metadata: Arc<ParquetMetaData>,
    /// First row of each row group, and the number of all rows.
    pub starts: Vec<u64>,
}

/// Stored values with their levels.
#[derive(Debug)]
pub(super) struct Decoded<T> {
    pub definition: Vec<i16>,
    pub repetition: Vec<i16>,
    pub values: Vec<T>,
    pub records: usize,
}

impl<T> Default for Decoded<T> {
    fn default() -> Self {
        Self { definition: Vec::new(), repetition: Vec::new(), values: Vec::new(), records: 0 }
    }
}

impl<T> Decoded<T> {
    pub fn clear(&mut self) {
        self.definition.clear();
        self.repetition.clear();
        self.values.clear();
        self.records = 0;
    }
}

impl ParquetInput {
    /// Reads the footer with all that it says.
    pub fn open(file: File, bytes: u64) -> Result<Self, ReadError> {
        let input = Positioned::new(Arc::new(file), bytes);
        let input = input.hold_tail(64 << 10).map_err(ReadError::Read)?;
        let options = ParquetMetaDataOptions::new().with_encoding_stats_as_mask(false);
        let reader = ParquetMetaDataReader::new()
            .with_page_index_policy(PageIndexPolicy::Optional)
            .with_metadata_options(Some(options));
        footer::vet(&input)?;
        let metadata = footer::read(guarded(|| reader.parse_and_finish(&input)))?;
        footer::consistent(&metadata, bytes)?;
        let mut starts = vec![0];
        let mut rows = 0;
        for group in metadata.row_groups() {
            rows += group.num_rows() as u64;
            starts.push(rows);
        }
        Ok(Self { input, metadata: Arc::new(metadata), starts })
    }

    /// Columns that hold values.
    pub fn leaves(&self) -> usize {
        self.metadata.file_metadata().schema_descr().num_columns()
    }

    /// The row group that holds a row.
    pub fn group_of(&self, row: u64) -> usize {
        self.starts.partition_point(|start| *start <= row).saturating_sub(1)
    }
}

/// Reads the values of one column, forward.
pub(super) struct Cursor<'a, T: DataType> {
    file: &'a ParquetInput,
    leaf: usize,
    /// The row group that is open, and the next row of it.
    open: Option<(usize, u64, ColumnReaderImpl<T>)>,
}

impl<'a, T: DataType> Cursor<'a, T> {
    pub fn new(file: &'a ParquetInput, leaf: usize) -> Self {
        Self { file, leaf, open: None }
    }

    /// Reads rows from the first of these on behind what is there already; returns how many: at least
    /// one, and not all where they are many or lie in several row groups.
    pub fn read(&mut self, rows: &Range<u64>, out: &mut Decoded<T::T>) -> Result<u64, ReadError> {
        let group = self.file.group_of(rows.start);
        let failed = |error: &dyn ToString| {
            ReadError::decoding(&format!("row group {group}"), &error.to_string())
        };
        let here = self.open.take().filter(|(open, at, _)| *open == group && *at <= rows.start);
        let (at, mut reader) = match here {
            Some((_, at, reader)) => (at, reader),
            None => (self.file.starts[group], self.reader(group)?),
        };
        let skip = (rows.start - at) as usize;
        if skip > 0 && reader.skip_records(skip).map_err(|e| failed(&e))? != skip {
            return Err(failed(&"it ends early"));
        }
        let end = rows.end.min(self.file.starts[group + 1]);
        let most = ((end - rows.start) as usize).min(RECORDS);
        let descriptor = self.file.metadata.file_metadata().schema_descr().column(self.leaf);
        let (nulls, lists) = (descriptor.max_def_level() > 0, descriptor.max_rep_level() > 0);
        let (records, ..) = reader
            .read_records(
                most,
                nulls.then_some(&mut out.definition),
                lists.then_some(&mut out.repetition),
                &mut out.values,
            )
            .map_err(|e| failed(&e))?;
        if records == 0 {
            return Err(failed(&"it ends early"));
        }
        out.records += records;
        self.open = Some((group, rows.start + records as u64, reader));
        Ok(records as u64)
    }

    fn reader(&self, group: usize) -> Result<ColumnReaderImpl<T>, ReadError> {
        let failed = |error: &dyn ToString| {
            ReadError::decoding(&format!("row group {group}"), &error.to_string())
        };
        let chunk = self.file.metadata.row_group(group).column(self.leaf);
        let (start, length) = chunk.byte_range();
        let mut input = self.file.input.clone();
        if length <= HELD {
            input = input.hold(std::iter::once(start..start + length)).map_err(ReadError::Read)?;
        }
        let pages = GroupPages {
            input: Arc::new(input),
            metadata: Arc::clone(&self.file.metadata),
            groups: group..group + 1,
        };
        let mut chunks = pages.column_chunks(self.leaf).map_err(|e| failed(&e))?;
        let pages = chunks.next().ok_or_else(|| failed(&"no pages"))?.map_err(|e| failed(&e))?;
        let descriptor = self.file.metadata.file_metadata().schema_descr().column(self.leaf);
        Ok(get_typed_column_reader::<T>(get_column_reader(descriptor, pages)))
    }
}
