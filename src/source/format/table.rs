//! What every format offers: how it is recognised, opened, and read.

use std::any::Any;
use std::borrow::Cow;
use std::fmt::Debug;
use std::ops::Range;
use std::path::Path;
use std::sync::Arc;

use arrow::datatypes::Schema;
use arrow::record_batch::RecordBatch;

use crate::parquet_io::positioned::Positioned;
use crate::source::read_error::ReadError;
use crate::source::roles::shape::ColumnPath;

/// A format of tables: one file of this folder, and one line in `list`.
#[derive(Debug)]
pub(in crate::source) struct Format {
    /// Endings by which a file is found in a folder. A file of a format without `head` and `tail`
    /// is recognised by them as well.
    pub endings: &'static [&'static str],
    /// Whether it is read from a folder only where that holds no tables of other formats: next to
    /// those, a text is notes or an export, and an array is an image.
    pub alone: bool,
    /// The first bytes of a file; empty where they say nothing.
    pub head: &'static [u8],
    /// The last bytes of a file, looked at before the first; empty where they say nothing.
    pub tail: &'static [u8],
    /// Other first bytes, of relatives that are not read.
    pub refused: &'static [Refusal],
    /// Opens a file.
    pub open: fn(Opening<'_>) -> Result<Box<dyn Table>, ReadError>,
}

/// First bytes of a file that is not read.
#[derive(Debug)]
pub(in crate::source) struct Refusal {
    pub head: &'static [u8],
    pub what: &'static str,
    pub hint: Option<&'static str>,
}

/// What a table is opened for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::source) enum Purpose {
    /// The index: statistics are of use.
    Index,
    /// Rows alone.
    Rows,
}

/// All that a format may use to open a file.
#[derive(Debug)]
pub(in crate::source) struct Opening<'a> {
    pub path: &'a Path,
    /// The file by position; its last bytes are held, unless `kept` is there.
    pub input: Positioned,
    pub purpose: Purpose,
    /// What the format kept of the file when it was open before.
    pub kept: Option<Kept>,
    /// Ends of its pieces, if they were counted before.
    pub ends: &'a [u64],
}

/// What a format keeps of a file, so that it is not parsed again.
#[derive(Debug, Clone)]
pub(in crate::source) struct Kept {
    pub format: &'static Format,
    pub parsed: Arc<dyn Any + Send + Sync>,
}

/// Shown each batch; returns whether more are wanted.
pub(in crate::source) type Visit<'a> = &'a mut dyn FnMut(&RecordBatch) -> bool;

/// An id that all rows of a piece have.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(in crate::source) enum SingleId {
    Number(i64),
    Text(String),
}

/// An open table. A *piece* is what can be read without the rows before it: a row group, a record
/// batch.
pub(in crate::source) trait Table: Debug {
    /// The schema as it is read.
    fn schema(&self) -> &Schema;

    /// Shows the rows of these ranges (sorted, apart) as batches, one after the other, until
    /// `visit` has seen enough.
    fn scan(
        &self,
        wanted: &[ColumnPath],
        ranges: &[Range<u64>],
        visit: Visit<'_>,
    ) -> Result<(), ReadError>;

    /// The schema with the writer's own types and metadata.
    fn written_schema(&self) -> Cow<'_, Schema> {
        Cow::Borrowed(self.schema())
    }

    /// Rows up to the end of each piece, if that is known without reading them.
    fn known_ends(&self) -> Option<Vec<u64>> {
        None
    }

    /// Counts the rows up to the end of each piece. Shows these columns of each piece on the way,
    /// because one pass is enough.
    fn count(&self, wanted: &[ColumnPath], visit: Visit<'_>) -> Result<Vec<u64>, ReadError> {
        let mut ends = Vec::new();
        let mut rows = 0;
        self.scan(wanted, std::slice::from_ref(&(0..u64::MAX)), &mut |batch| {
            rows += batch.num_rows() as u64;
            ends.push(rows);
            visit(batch)
        })?;
        Ok(ends)
    }

    /// The one id of a piece, if statistics name it.
    fn single_id(&self, _column: &[String], _piece: usize) -> Option<SingleId> {
        None
    }

    /// The number of values of a list column, if it is known without reading them.
    fn values(&self, _column: &[String]) -> Option<u64> {
        None
    }

    /// Bytes of its rows in memory, where all of them were read to open it.
    fn held(&self) -> Option<u64> {
        None
    }

    /// Whether what it takes to read is not known beforehand.
    fn unsure(&self) -> bool {
        false
    }

    /// What is worth keeping for the next time.
    fn keep(&self) -> Option<Kept> {
        None
    }
}
