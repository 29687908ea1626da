//! One table file, whatever its format.

use std::borrow::Cow;
use std::fs::{File, Metadata};
use std::ops::Range;
use std::path::Path;
use std::sync::Arc;
use std::time::SystemTime;

use arrow::datatypes::Schema;
use arrow::record_batch::RecordBatch;
use parquet::file::reader::{ChunkReader, Length};

use super::ipc::IpcTable;
use super::parquet::{Footer, MARK, ParquetTable, Statistics};
use super::positioned::Positioned;
use super::shape::ColumnPath;

/// Length and time of change, by which a file that is still being written gives itself away.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Stamp {
    pub bytes: u64,
    pub changed: Option<SystemTime>,
}

impl From<&Metadata> for Stamp {
    fn from(meta: &Metadata) -> Self {
        Self { bytes: meta.len(), changed: meta.modified().ok() }
    }
}

/// What is known of a file from before, to save work and to notice changes.
#[derive(Debug, Default)]
pub(super) struct Known<'a> {
    pub stamp: Option<Stamp>,
    pub footer: Option<Footer>,
    /// Ends of the row groups or record batches.
    pub ends: &'a [u64],
}

/// An open table file.
#[derive(Debug)]
pub(super) struct Table {
    pub stamp: Stamp,
    pub body: Body,
}

/// By format.
#[derive(Debug)]
pub(super) enum Body {
    Parquet(ParquetTable),
    Ipc(IpcTable),
}

/// Formats, distinguished apart by the last bytes or, where those say nothing, by the first.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Format {
    Parquet,
    IpcFile,
    IpcStream,
}

/// What is said of a file that is still being written.
const CHANGED: &str = "changed while it was being read; run again when it is complete";

impl Table {
    /// Opens a table for the index: with statistics.
    pub fn open(path: &Path) -> Result<Self, String> {
        Self::open_known(path, Known::default(), Statistics::All)
    }

    /// Opens a table that was looked at before.
    pub fn reopen(path: &Path, known: Known<'_>) -> Result<Self, String> {
        Self::open_known(path, known, Statistics::None)
    }

    fn open_known(path: &Path, known: Known<'_>, statistics: Statistics) -> Result<Self, String> {
        let cannot = |e: std::io::Error| format!("cannot be opened: {e}");
        let file = File::open(path).map_err(cannot)?;
        let meta = file.metadata().map_err(cannot)?;
        if meta.is_dir() {
            return Err("is a folder".to_string());
        }
        let stamp = Stamp::from(&meta);
        if known.stamp.is_some_and(|before| before != stamp) {
            return Err(CHANGED.into());
        }
        let mut input = Positioned::new(Arc::new(file), stamp.bytes);
        if known.footer.is_none() {
            input = input
                .hold_tail(tail(stamp.bytes, statistics))
                .map_err(|e| format!("cannot be read: {e}"))?;
        }
        let whole = known.footer.is_some() || input.ends_with(MARK);
        let format = if whole { Format::Parquet } else { sniff(&input)? };
        let body = match format {
            Format::Parquet => Body::Parquet(ParquetTable::open(input, known.footer, statistics)?),
            other => {
                let stream = other == Format::IpcStream;
                Body::Ipc(IpcTable::open(path, stream, known.ends)?)
            }
        };
        Ok(Self { stamp, body })
    }

    /// The schema as written.
    pub fn written_schema(&self) -> Cow<'_, Schema> {
        match &self.body {
            Body::Parquet(table) => Cow::Owned(table.written_schema()),
            Body::Ipc(table) => Cow::Borrowed(table.schema()),
        }
    }

    /// The schema as it is read.
    pub fn schema(&self) -> &Schema {
        match &self.body {
            Body::Parquet(table) => table.footer.schema(),
            Body::Ipc(table) => table.schema(),
        }
    }

    /// Shows the rows of these ranges (sorted, apart) as batches, one after the other, until
    /// `visit` has seen enough.
    pub fn scan(
        &self,
        wanted: &[ColumnPath],
        ranges: &[Range<u64>],
        visit: &mut dyn FnMut(&RecordBatch) -> bool,
    ) -> Result<(), String> {
        match &self.body {
            Body::Parquet(table) => table.scan(wanted, ranges, visit),
            Body::Ipc(table) => table.scan(wanted, ranges, visit),
        }
    }
}

/// How much of a file's end to fetch with its footer. Of a small file, of which there may be very
/// many, not much more than that for the index; but if its rows are read next, all of it.
fn tail(bytes: u64, statistics: Statistics) -> u64 {
    const MOST: u64 = 64 << 10;
    const SMALL: u64 = 256 << 10;
    const LEAST: u64 = 8 << 10;
    if bytes <= SMALL && statistics == Statistics::All { LEAST } else { MOST }
}

fn sniff(input: &Positioned) -> Result<Format, String> {
    let mut head = [0; 8];
    let wanted = head.len().min(input.len() as usize);
    let first = input.get_bytes(0, wanted).map_err(|e| format!("cannot be read: {e}"))?;
    head[..wanted].copy_from_slice(&first);
    match &head {
        _ if wanted == 0 => Err("is empty: 0 bytes".to_string()),
        b if b.starts_with(b"PAR1") => Ok(Format::Parquet),
        b if b.starts_with(b"PARE") => Err("its footer is encrypted, which is not read".into()),
        b if b.starts_with(b"ARROW1") => Ok(Format::IpcFile),
        b if b.starts_with(b"FEA1") => {
            Err("is Feather version 1; write it again as Feather version 2 (Arrow IPC)".into())
        }
        b if b.starts_with(&[0xff; 4]) => Ok(Format::IpcStream),
        b => {
            let shown = b[..wanted].escape_ascii();
            Err(format!(
                "is neither Parquet nor Arrow IPC (it begins with \"{shown}\"): convert it first"
            ))
        }
    }
}
