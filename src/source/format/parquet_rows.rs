//! Rows of chosen columns of a Parquet file.

use std::cell::RefCell;
use std::ops::Range;
use std::sync::Arc;

use parquet::arrow::arrow_reader::{
    ArrowReaderMetadata, ParquetRecordBatchReader, RowSelection, RowSelector,
};
use parquet::arrow::{FieldLevels, ProjectionMask, parquet_to_arrow_field_levels};
use parquet::file::metadata::RowGroupMetaData;
use parquet::schema::types::SchemaDescriptor;

use crate::parquet_io::guard::guarded;
use crate::parquet_io::pages::GroupPages;
use crate::parquet_io::positioned::Positioned;
use crate::source::format::table::Visit;
use crate::source::read_error::ReadError;
use crate::source::roles::shape::ColumnPath;

/// Rows decoded at a time: large enough to spread the cost of a call, small enough for the cache.
const BATCH: usize = 8192;
/// Row groups are read together, and held in memory, up to this many bytes of chosen columns;
/// beyond it pages are fetched one by one.
const TOGETHER: u64 = 8 << 20;

/// A Parquet file and its footer.
#[derive(Debug)]
pub(super) struct ParquetRows {
    pub input: Positioned,
    pub footer: ArrowReaderMetadata,
}

impl ParquetRows {
    /// Row groups.
    pub fn groups(&self) -> &[RowGroupMetaData] {
        self.footer.metadata().row_groups()
    }

    /// Rows up to the end of each row group.
    pub fn ends(&self) -> Vec<u64> {
        let mut rows = 0;
        let add = |group: &RowGroupMetaData| {
            rows += group.num_rows() as u64;
            rows
        };
        self.groups().iter().map(add).collect()
    }

    /// The leaves below a column.
    pub fn leaves(&self, path: &[String]) -> Vec<usize> {
        leaves(self.footer.parquet_schema(), path)
    }

    /// Shows the rows of these ranges (sorted, apart) as batches, one after the other, until
    /// `visit` has seen enough.
    pub fn rows(
        &self,
        wanted: &[ColumnPath],
        ranges: &[Range<u64>],
        visit: Visit<'_>,
    ) -> Result<(), ReadError> {
        let descriptor = self.footer.parquet_schema();
        let leaves: Vec<usize> = wanted.iter().flat_map(|path| leaves(descriptor, path)).collect();
        let mask = ProjectionMask::leaves(descriptor, leaves.iter().copied());
        let levels = levels(descriptor, &leaves, mask)?;
        let (Some(first), Some(last)) = (ranges.first(), ranges.last()) else { return Ok(()) };
        let ends = self.ends();
        let mut group = ends.partition_point(|&end| end <= first.start);
        let until = ends.partition_point(|&end| end < last.end);
        while group < ends.len() && group <= until {
            let stretch = guarded(|| self.stretch(group, &ends, &leaves, ranges))?;
            let (first, last) = (stretch.groups.start, stretch.groups.end);
            group = last;
            if stretch.wanted == 0 {
                continue;
            }
            let failed = |error: &dyn ToString| {
                let groups = if last - first == 1 {
                    format!("row group {first}")
                } else {
                    format!("row groups {first} to {}", last - 1)
                };
                ReadError::decoding(&groups, &error.to_string())
            };
            let rows = ends[last - 1] - stretch.start;
            let mut input = self.input.clone();
            if stretch.bytes <= TOGETHER && stretch.wanted * 2 >= rows {
                let chunks = (first..last).flat_map(|g| {
                    let chunk = |leaf: &usize| self.groups()[g].column(*leaf).byte_range();
                    let mut all: Vec<_> =
                        leaves.iter().map(chunk).map(|(at, len)| at..at + len).collect();
                    all.sort_unstable_by_key(|range| range.start);
                    all
                });
                input = input.hold(chunks).map_err(|e| failed(&e))?;
            }
            let groups = GroupPages {
                input: Arc::new(input),
                metadata: Arc::clone(self.footer.metadata()),
                groups: first..last,
            };
            let selection = (stretch.wanted < rows).then_some(stretch.selection);
            let batch = BATCH.min(stretch.wanted as usize);
            let reader = guarded(|| {
                ParquetRecordBatchReader::try_new_with_row_groups(
                    &levels, &groups, batch, selection,
                )
            })?;
            let mut reader = reader.map_err(|e| failed(&e))?;
            while let Some(batch) = guarded(|| reader.next())? {
                if !visit(&batch.map_err(|e| failed(&e))?) {
                    return Ok(());
                }
            }
        }
        Ok(())
    }

    /// As many row groups from this one on as are worth reading together: one with nothing
    /// wanted by itself, else several small ones.
    fn stretch(
        &self,
        group: usize,
        ends: &[u64],
        leaves: &[usize],
        ranges: &[Range<u64>],
    ) -> Stretch {
        let start = if group == 0 { 0 } else { ends[group - 1] };
        let mut stretch = Stretch {
            groups: group..group,
            start,
            wanted: 0,
            bytes: 0,
            selection: RowSelection::default(),
        };
        let mut selectors = Vec::new();
        let mut at = start;
        for (g, &end) in ends.iter().enumerate().skip(group) {
            let mut cursor = at;
            let mut inside = 0;
            let mut part = Vec::new();
            for range in ranges.iter().filter(|r| r.start < end && r.end > at) {
                let (from, to) = (range.start.max(at), range.end.min(end));
                if from > cursor {
                    part.push(RowSelector::skip((from - cursor) as usize));
                }
                part.push(RowSelector::select((to - from) as usize));
                inside += to - from;
                cursor = to;
            }
            let bytes: u64 =
                leaves.iter().map(|&leaf| self.groups()[g].column(leaf).byte_range().1).sum();
            let first = stretch.groups.is_empty();
            if !first && (inside == 0 || stretch.bytes + bytes > TOGETHER) {
                break;
            }
            if cursor < end {
                part.push(RowSelector::skip((end - cursor) as usize));
            }
            selectors.extend(part);
            stretch.groups.end = g + 1;
            stretch.wanted += inside;
            stretch.bytes += bytes;
            at = end;
            if inside == 0 {
                break;
            }
        }
        stretch.selection = RowSelection::from(selectors);
        stretch
    }
}

/// Row groups that are read together.
struct Stretch {
    groups: Range<usize>,
    start: u64,
    wanted: u64,
    bytes: u64,
    selection: RowSelection,
}

thread_local! {
    /// The last schema whose columns were worked out: thousands of files have the same one.
    static LAST: RefCell<Option<(SchemaDescriptor, Vec<usize>, FieldLevels)>> =
        const { RefCell::new(None) };
}

/// How the columns are nested, worked out once for files of one schema.
fn levels(
    descriptor: &SchemaDescriptor,
    leaves: &[usize],
    mask: ProjectionMask,
) -> Result<FieldLevels, ReadError> {
    LAST.with_borrow_mut(|last| {
        if let Some((schema, known, levels)) = last
            && schema == descriptor
            && known == leaves
        {
            return Ok(levels.clone());
        }
        let levels = parquet_to_arrow_field_levels(descriptor, mask, None)
            .map_err(|e| ReadError::columns(&e))?;
        *last = Some((descriptor.clone(), leaves.to_vec(), levels.clone()));
        Ok(levels)
    })
}

fn leaves(descriptor: &SchemaDescriptor, path: &[String]) -> Vec<usize> {
    let below = |&leaf: &usize| descriptor.column(leaf).path().parts().starts_with(path);
    (0..descriptor.num_columns()).filter(below).collect()
}
