//! A table of text, read whole: its rows are held, since no row of text can be found without those
//! before it.

use std::ops::Range;

use arrow::datatypes::Schema;
use arrow::record_batch::RecordBatch;
use std::sync::Arc;

use crate::source::format::table::{Format, Kept, Opening, Table, Visit};
use crate::source::read_error::ReadError;
use crate::source::roles::shape::ColumnPath;

/// Rows shown at a time.
const BATCH: usize = 1 << 16;

/// All rows of a file.
#[derive(Debug)]
pub(super) struct MemoryTable {
    format: &'static Format,
    batch: RecordBatch,
}

impl MemoryTable {
    /// The rows that were kept, or those that `read` makes of the file.
    pub fn open(
        format: &'static Format,
        opening: &Opening<'_>,
        read: impl FnOnce() -> Result<RecordBatch, ReadError>,
    ) -> Result<Box<dyn Table>, ReadError> {
        let kept = opening.kept.as_ref().and_then(|kept| kept.parsed.downcast_ref::<RecordBatch>());
        let batch = match kept {
            Some(batch) => batch.clone(),
            None => read()?,
        };
        Ok(Box::new(Self { format, batch }))
    }
}

impl Table for MemoryTable {
    fn schema(&self) -> &Schema {
        self.batch.schema_ref()
    }

    fn scan(
        &self,
        _: &[ColumnPath],
        ranges: &[Range<u64>],
        visit: Visit<'_>,
    ) -> Result<(), ReadError> {
        for range in ranges {
            let end = range.end.min(self.batch.num_rows() as u64) as usize;
            let mut start = range.start as usize;
            while start < end {
                let rows = BATCH.min(end - start);
                if !visit(&self.batch.slice(start, rows)) {
                    return Ok(());
                }
                start += rows;
            }
        }
        Ok(())
    }

    fn held(&self) -> Option<u64> {
        Some(self.batch.get_array_memory_size() as u64)
    }

    fn keep(&self) -> Option<Kept> {
        Some(Kept { format: self.format, parsed: Arc::new(self.batch.clone()) })
    }
}
