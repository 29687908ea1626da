//! Arrow IPC: files by record batch, streams from front to back. A record batch plays the part
//! of a row group.

use std::fs::File;
use std::io::BufReader;
use std::ops::Range;
use std::path::{Path, PathBuf};

use arrow::datatypes::{Schema, SchemaRef};
use arrow::error::ArrowError;
use arrow::ipc::reader::{FileReader, StreamReader};
use arrow::record_batch::RecordBatch;

use super::guard::guarded;
use super::parquet::{DAMAGED, plain};
use super::shape::ColumnPath;

/// An Arrow IPC file or stream.
#[derive(Debug)]
pub(super) struct IpcTable {
    path: PathBuf,
    stream: bool,
    schema: SchemaRef,
    /// Rows up to the end of each record batch, once counted.
    ends: Vec<u64>,
}

enum Reader {
    File(FileReader<BufReader<File>>),
    Stream(StreamReader<BufReader<File>>),
}

impl IpcTable {
    /// Opens a file; `ends` are the ends of its record batches if they were counted before.
    pub fn open(path: &Path, stream: bool, ends: &[u64]) -> Result<Self, String> {
        let (path, ends) = (path.to_path_buf(), ends.to_vec());
        let mut table = Self { path, stream, schema: Schema::empty().into(), ends };
        table.schema = match table.reader(None)? {
            Reader::File(reader) => reader.schema(),
            Reader::Stream(reader) => reader.schema(),
        };
        Ok(table)
    }

    /// The schema as written.
    pub fn schema(&self) -> &Schema {
        &self.schema
    }

    /// Counts the rows of each record batch, and shows these columns of each on the way: there is
    /// no footer that knows, and one pass is enough.
    pub fn count(
        &self,
        wanted: &[ColumnPath],
        visit: &mut dyn FnMut(&RecordBatch) -> bool,
    ) -> Result<Vec<u64>, String> {
        let mut ends = Vec::new();
        let mut rows = 0;
        self.each(wanted, 0, &mut |batch| {
            rows += batch.num_rows() as u64;
            ends.push(rows);
            visit(batch)
        })?;
        Ok(ends)
    }

    /// Shows the rows of these ranges (sorted, apart) as batches, one after the other, until
    /// `visit` has seen enough.
    pub fn scan(
        &self,
        wanted: &[ColumnPath],
        ranges: &[Range<u64>],
        visit: &mut dyn FnMut(&RecordBatch) -> bool,
    ) -> Result<(), String> {
        let (Some(first), Some(last)) = (ranges.first(), ranges.last()) else { return Ok(()) };
        // A stream has no way in but its front.
        let skipped =
            if self.stream { 0 } else { self.ends.partition_point(|&end| end <= first.start) };
        let mut at = if skipped == 0 { 0 } else { self.ends[skipped - 1] };
        self.each(wanted, skipped, &mut |batch| {
            let end = at + batch.num_rows() as u64;
            for range in ranges.iter().filter(|r| r.start < end && r.end > at) {
                let (from, to) = (range.start.max(at), range.end.min(end));
                if !visit(&batch.slice((from - at) as usize, (to - from) as usize)) {
                    return false;
                }
            }
            at = end;
            at < last.end
        })
    }

    fn each(
        &self,
        wanted: &[ColumnPath],
        skipped: usize,
        visit: &mut dyn FnMut(&RecordBatch) -> bool,
    ) -> Result<(), String> {
        let index = |path: &ColumnPath| self.schema.index_of(&path[0]).ok();
        let mut columns: Vec<usize> = wanted.iter().filter_map(index).collect();
        columns.sort_unstable();
        columns.dedup();
        let mut number = skipped;
        let mut show = |batch: Result<RecordBatch, ArrowError>| {
            let broken = |e: ArrowError| {
                let what = plain(&e.to_string());
                format!("record batch {number} cannot be decoded ({what}): {DAMAGED}")
            };
            let more = visit(&batch.map_err(broken)?);
            number += 1;
            Ok::<bool, String>(more)
        };
        let mut batches: Box<dyn Iterator<Item = _>> = match self.reader(Some(columns))? {
            Reader::File(mut reader) => {
                if skipped > 0 && skipped < reader.num_batches() {
                    reader.set_index(skipped).map_err(|e| plain(&e.to_string()))?;
                }
                Box::new(reader)
            }
            Reader::Stream(reader) => Box::new(reader),
        };
        while let Some(batch) = guarded(|| batches.next())? {
            if !show(batch)? {
                break;
            }
        }
        Ok(())
    }

    fn reader(&self, columns: Option<Vec<usize>>) -> Result<Reader, String> {
        let file = File::open(&self.path).map_err(|e| e.to_string())?;
        let opened = guarded(|| {
            if self.stream {
                StreamReader::try_new_buffered(file, columns).map(Reader::Stream)
            } else {
                FileReader::try_new_buffered(file, columns).map(Reader::File)
            }
        });
        opened?.map_err(|e| {
            let what = plain(&e.to_string());
            format!("the Arrow schema cannot be read ({what}): {DAMAGED}")
        })
    }
}
