//! Arrow IPC: files by record batch, streams from front to back. A piece is a record
//! batch.

use std::fs::File;
use std::io::BufReader;
use std::ops::Range;
use std::path::PathBuf;

use arrow::datatypes::{DataType, Schema, SchemaRef};
use arrow::error::ArrowError;
use arrow::ipc::reader::{FileReader, StreamReader};
use arrow::record_batch::RecordBatch;

use crate::parquet_io::guard::guarded;
use crate::source::format::ipc_vet;
use crate::source::format::table::{Format, Opening, Purpose, Refusal, Table, Visit};
use crate::source::read_error::{ReadError, plain};
use crate::source::roles::shape::ColumnPath;

/// An Arrow IPC file, Feather version 2.
pub(super) static FILE: Format = Format {
    endings: &["arrow", "feather", "ipc"],
    alone: false,
    head: b"ARROW1",
    tail: b"",
    refused: &[Refusal {
        head: b"FEA1",
        what: "is Feather version 1",
        hint: Some("write it again as Feather version 2 (Arrow IPC)"),
    }],
    open: |opening| IpcTable::open(&opening, false),
};
/// An Arrow IPC stream.
pub(super) static STREAM: Format = Format {
    endings: &["arrows"],
    alone: false,
    head: &[0xff; 4],
    tail: b"",
    refused: &[],
    open: |opening| IpcTable::open(&opening, true),
};

/// An Arrow IPC file or stream.
#[derive(Debug)]
struct IpcTable {
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
    fn open(opening: &Opening<'_>, stream: bool) -> Result<Box<dyn Table>, ReadError> {
        // Whoever asks for rows had it indexed before.
        if opening.purpose == Purpose::Index {
            let input = &opening.input;
            let vet = if stream { ipc_vet::stream } else { ipc_vet::file };
            vet(input)?;
        }
        let (path, ends) = (opening.path.to_path_buf(), opening.ends.to_vec());
        let mut table = Self { path, stream, schema: Schema::empty().into(), ends };
        table.schema = match table.reader(None)? {
            Reader::File(reader) => reader.schema(),
            Reader::Stream(reader) => reader.schema(),
        };
        Ok(Box::new(table))
    }

    fn each(
        &self,
        wanted: &[ColumnPath],
        skipped: usize,
        visit: Visit<'_>,
    ) -> Result<(), ReadError> {
        let index = |path: &ColumnPath| self.schema.index_of(&path[0]).ok();
        let mut columns: Vec<usize> = wanted.iter().filter_map(index).collect();
        columns.sort_unstable();
        columns.dedup();
        let mut number = skipped;
        let mut show = |batch: Result<RecordBatch, ArrowError>| {
            let broken = |e| ReadError::decoding(&format!("record batch {number}"), &e);
            let more = visit(&batch.map_err(broken)?);
            number += 1;
            Ok::<bool, ReadError>(more)
        };
        let mut batches: Box<dyn Iterator<Item = _>> = match self.reader(Some(columns))? {
            Reader::File(mut reader) => {
                if skipped > 0 && skipped < reader.num_batches() {
                    reader.set_index(skipped).map_err(|e| ReadError::columns(&e))?;
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

    fn reader(&self, columns: Option<Vec<usize>>) -> Result<Reader, ReadError> {
        let file = File::open(&self.path).map_err(ReadError::Open)?;
        let opened = guarded(|| {
            if self.stream {
                StreamReader::try_new_buffered(file, columns).map(Reader::Stream)
            } else {
                FileReader::try_new_buffered(file, columns).map(Reader::File)
            }
        });
        opened?.map_err(|e| {
            let what = plain(&e.to_string());
            ReadError::Damaged(format!("the Arrow schema cannot be read ({what})"))
        })
    }
}

impl Table for IpcTable {
    fn schema(&self) -> &Schema {
        &self.schema
    }

    fn scan(
        &self,
        wanted: &[ColumnPath],
        ranges: &[Range<u64>],
        visit: Visit<'_>,
    ) -> Result<(), ReadError> {
        let (Some(first), Some(last)) = (ranges.first(), ranges.last()) else { return Ok(()) };
        // A stream can only be read from its front.
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

    fn unsure(&self) -> bool {
        self.schema.fields().iter().any(|field| !is_plain(field.data_type(), 4))
    }

    fn count(&self, wanted: &[ColumnPath], visit: Visit<'_>) -> Result<Vec<u64>, ReadError> {
        let mut ends = Vec::new();
        let mut rows = 0;
        self.each(wanted, 0, &mut |batch| {
            rows += batch.num_rows() as u64;
            ends.push(rows);
            visit(batch)
        })?;
        Ok(ends)
    }
}

/// Whether a type is one of those whose buffers say how long it is: numbers, texts, and lists, structs and
/// dictionaries of them.
fn is_plain(kind: &DataType, depth: usize) -> bool {
    let Some(depth) = depth.checked_sub(1) else { return false };
    match kind {
        DataType::List(item) | DataType::LargeList(item) | DataType::FixedSizeList(item, 1..) => {
            is_plain(item.data_type(), depth)
        }
        DataType::Struct(fields) => fields.iter().all(|f| is_plain(f.data_type(), depth)),
        DataType::Dictionary(_, values) => is_plain(values, depth),
        DataType::Utf8 | DataType::LargeUtf8 | DataType::Binary | DataType::LargeBinary => true,
        other => other.is_primitive() || *other == DataType::Boolean,
    }
}
