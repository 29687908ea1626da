//! Measured episodes that are kept on disk until their measurements file is written, whose order
//! and names are known last: a session of a day takes no memory.

use std::fs::File;
use std::io;
use std::sync::Arc;

use arrow::array::{ArrayRef, StringArray, UInt32Array, UInt64Array};
use arrow::compute::{concat_batches, interleave_record_batch, take_record_batch};
use arrow::ipc::CompressionType;
use arrow::ipc::reader::StreamReader;
use arrow::ipc::writer::{IpcWriteOptions, StreamWriter};
use arrow::record_batch::RecordBatch;
use tempfile::NamedTempFile;

use super::build::Rows;
use super::error::StoreError;
use super::layout::StoredColumns;
use super::write::Writer;

/// Episodes that are compressed together: a few kilobytes each instead of tens.
const CHUNK: usize = 128;

/// Where a kept episode goes in the measurements file.
#[derive(Debug, Clone)]
pub struct Placed {
    /// Its place among those that were kept.
    pub kept: usize,
    /// Its id there.
    pub id: String,
    /// Number of the file it was read from, there.
    pub input: u32,
    /// Path of that file.
    pub source: String,
}

/// Measured episodes on disk.
pub struct Spool {
    layout: Arc<StoredColumns>,
    on_disk: NamedTempFile,
    out: StreamWriter<File>,
    pending: Vec<RecordBatch>,
    written: usize,
    waiting: usize,
}

impl Spool {
    /// Begins with none.
    ///
    /// # Errors
    /// If the system has no place for temporary files.
    pub fn new(layout: Arc<StoredColumns>) -> Result<Self, StoreError> {
        let on_disk = tempfile::Builder::new()
            .prefix("teleassay-")
            .tempfile()
            .map_err(|error| full(&error))?;
        let options = IpcWriteOptions::default();
        let options = options.try_with_compression(Some(CompressionType::ZSTD))?;
        let file = on_disk.reopen().map_err(|error| full(&error))?;
        let out = StreamWriter::try_new_with_options(file, &layout.schema, options)?;
        Ok(Self { layout, on_disk, out, pending: Vec::new(), written: 0, waiting: 0 })
    }

    /// The columns, to make rows of.
    pub fn layout(&self) -> &Arc<StoredColumns> {
        &self.layout
    }

    /// Number of episodes.
    pub fn episodes(&self) -> usize {
        self.written + self.waiting
    }

    /// Keeps more.
    ///
    /// # Errors
    /// If they cannot be written.
    pub fn push(&mut self, Rows(rows): Rows) -> Result<(), StoreError> {
        if rows.num_rows() > 0 {
            self.waiting += rows.num_rows();
            self.pending.push(rows);
        }
        if self.waiting >= CHUNK { self.flush() } else { Ok(()) }
    }

    /// Writes episodes into a measurements file, in this order.
    ///
    /// # Errors
    /// If they cannot be read or written.
    pub fn write_into(
        &mut self,
        writer: &mut Writer<'_>,
        placed: &[Placed],
    ) -> Result<(), StoreError> {
        self.flush()?;
        let in_order = placed.is_sorted_by_key(|one| one.kept);
        let chunks =
            StreamReader::try_new(self.on_disk.reopen().map_err(|error| full(&error))?, None)?;
        let (mut first, mut next) = (0, 0);
        let mut held: Vec<RecordBatch> = Vec::new();
        for chunk in chunks {
            let chunk = chunk?;
            let end = first + chunk.num_rows();
            if in_order {
                let last = next + placed[next..].partition_point(|one| one.kept < end);
                let rows = placed[next..last].iter().map(|one| (one.kept - first) as u64);
                let rows = take_record_batch(&chunk, &UInt64Array::from_iter_values(rows))?;
                writer.write(&Rows(self.named(&rows, next, &placed[next..last])?))?;
                next = last;
            } else {
                held.push(chunk);
            }
            first = end;
        }
        // Files whose names are in another order than their times: all episodes are needed at once.
        let ends: Vec<usize> = held
            .iter()
            .scan(0, |end, chunk| {
                *end += chunk.num_rows();
                Some(*end)
            })
            .collect();
        let place = |one: &Placed| {
            let chunk = ends.partition_point(|end| *end <= one.kept);
            (chunk, one.kept - chunk.checked_sub(1).map_or(0, |before| ends[before]))
        };
        let held: Vec<&RecordBatch> = held.iter().collect();
        for (at, part) in placed[next..].chunks(CHUNK).enumerate() {
            let rows = interleave_record_batch(&held, &part.iter().map(place).collect::<Vec<_>>())?;
            writer.write(&Rows(self.named(&rows, next + at * CHUNK, part)?))?;
        }
        Ok(())
    }

    /// Rows with their places and names in the measurements file.
    fn named(
        &self,
        rows: &RecordBatch,
        first: usize,
        placed: &[Placed],
    ) -> Result<RecordBatch, StoreError> {
        let text = |of: &dyn Fn(&Placed) -> &str| -> ArrayRef {
            Arc::new(StringArray::from_iter_values(placed.iter().map(of)))
        };
        let index = (first as u64)..(first + placed.len()) as u64;
        let inputs = placed.iter().map(|one| one.input);
        let set: [(&str, ArrayRef); 4] = [
            ("episode", text(&|one| &one.id)),
            ("index", Arc::new(UInt64Array::from_iter_values(index))),
            ("input", Arc::new(UInt32Array::from_iter_values(inputs))),
            ("source", text(&|one| &one.source)),
        ];
        let mut columns = rows.columns().to_vec();
        for (name, array) in set {
            columns[self.layout.schema.index_of(name)?] = array;
        }
        Ok(RecordBatch::try_new(Arc::clone(&self.layout.schema), columns)?)
    }

    fn flush(&mut self) -> Result<(), StoreError> {
        if self.pending.is_empty() {
            return Ok(());
        }
        let chunk = concat_batches(&self.layout.schema, &self.pending)?;
        self.out.write(&chunk)?;
        self.out.flush()?;
        self.pending.clear();
        self.written += self.waiting;
        self.waiting = 0;
        Ok(())
    }
}

fn full(error: &io::Error) -> StoreError {
    StoreError::Unwritten(format!("the folder of temporary files: {error}"))
}

impl std::fmt::Debug for Spool {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Spool").field("episodes", &self.episodes()).finish_non_exhaustive()
    }
}
