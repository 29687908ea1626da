//! Parquet: footer, row counts, and rows of chosen columns.

use std::cell::RefCell;
use std::ops::Range;
use std::sync::Arc;

use arrow::datatypes::Schema;
use arrow::record_batch::RecordBatch;
use parquet::arrow::arrow_reader::{
    ArrowReaderMetadata, ArrowReaderOptions, ParquetRecordBatchReader, RowSelection, RowSelector,
};
use parquet::arrow::{
    FieldLevels, ProjectionMask, parquet_to_arrow_field_levels, parquet_to_arrow_schema,
};
use parquet::file::metadata::{ParquetStatisticsPolicy, RowGroupMetaData};
use parquet::schema::types::SchemaDescriptor;

use super::guard::guarded;
use super::pages::GroupPages;
use super::positioned::Positioned;
use super::shape::ColumnPath;

/// Rows decoded at a time: large enough to spread the cost of a call, small enough for the cache.
const BATCH: usize = 8192;
/// What a Parquet file ends with.
pub(super) const MARK: &[u8; 4] = b"PAR1";
/// Row groups are read together, and held in memory, up to this many bytes of chosen columns;
/// beyond it pages are fetched one by one.
const TOGETHER: u64 = 8 << 20;

/// What is kept of a footer.
pub(super) type Footer = ArrowReaderMetadata;

/// Which statistics a footer is read with.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Statistics {
    /// All of them: the index looks at the episode column's.
    All,
    /// None: rows are read without.
    None,
}

/// An open Parquet file.
#[derive(Debug)]
pub(super) struct ParquetTable {
    input: Positioned,
    pub footer: Footer,
}

impl ParquetTable {
    /// Opens a file, with its footer if that is known from before.
    pub fn open(
        input: Positioned,
        known: Option<Footer>,
        statistics: Statistics,
    ) -> Result<Self, String> {
        if let Some(footer) = known {
            return Ok(Self { input, footer });
        }
        // Types come from the Parquet schema alone: it costs a third less time to read plain
        // lists than the fixed-size lists and dictionaries that the writer may have had.
        let mut options = ArrowReaderOptions::new().with_skip_arrow_metadata(true);
        if statistics == Statistics::None {
            options = options
                .with_column_stats_policy(ParquetStatisticsPolicy::SkipAll)
                .with_size_stats_policy(ParquetStatisticsPolicy::SkipAll)
                .with_encoding_stats_policy(ParquetStatisticsPolicy::SkipAll);
        }
        let footer = ArrowReaderMetadata::load(&input, options).map_err(|e| {
            let what = plain(&e.to_string());
            format!(
                "the Parquet footer cannot be read ({what}): the file is cut short or not yet \
                 complete; copy or record it again"
            )
        })?;
        consistent(footer.metadata().row_groups())?;
        Ok(Self { input, footer })
    }

    /// The schema as it was written, with the writer's own types and metadata where they are.
    pub fn written_schema(&self) -> Schema {
        let meta = self.footer.metadata().file_metadata();
        parquet_to_arrow_schema(meta.schema_descr(), meta.key_value_metadata())
            .unwrap_or_else(|_| self.footer.schema().as_ref().clone())
    }

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
    pub fn scan(
        &self,
        wanted: &[ColumnPath],
        ranges: &[Range<u64>],
        visit: &mut dyn FnMut(&RecordBatch) -> bool,
    ) -> Result<(), String> {
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
            let failed = |what: String| {
                let groups = if last - first == 1 {
                    format!("row group {first}")
                } else {
                    format!("row groups {first} to {}", last - 1)
                };
                format!("{groups} cannot be decoded ({}): {DAMAGED}", plain(&what))
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
                input = input.hold(chunks).map_err(|e| failed(e.to_string()))?;
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
            let mut reader = reader.map_err(|e| failed(e.to_string()))?;
            while let Some(batch) = guarded(|| reader.next())? {
                if !visit(&batch.map_err(|e| failed(e.to_string()))?) {
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

/// Whether the footer's counts bear one another out: each column holds a value for each row, a
/// list perhaps more. Room is made by these counts, so one that lies must not be believed.
fn consistent(groups: &[RowGroupMetaData]) -> Result<(), String> {
    for (number, group) in groups.iter().enumerate() {
        let rows = group.num_rows();
        let agrees = group.columns().iter().all(|column| {
            let values = column.num_values();
            if column.column_descr().max_rep_level() == 0 { values == rows } else { values >= rows }
        });
        if rows < 0 || !agrees {
            return Err(format!(
                "the Parquet footer contradicts itself on the rows of row group {number}: {DAMAGED}"
            ));
        }
    }
    Ok(())
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
) -> Result<FieldLevels, String> {
    LAST.with_borrow_mut(|last| {
        if let Some((schema, known, levels)) = last
            && schema == descriptor
            && known == leaves
        {
            return Ok(levels.clone());
        }
        let levels = parquet_to_arrow_field_levels(descriptor, mask, None)
            .map_err(|e| plain(&e.to_string()))?;
        *last = Some((descriptor.clone(), leaves.to_vec(), levels.clone()));
        Ok(levels)
    })
}

fn leaves(descriptor: &SchemaDescriptor, path: &[String]) -> Vec<usize> {
    let below = |&leaf: &usize| descriptor.column(leaf).path().parts().starts_with(path);
    (0..descriptor.num_columns()).filter(below).collect()
}

/// What to do about a file that cannot be decoded.
pub(super) const DAMAGED: &str = "the file is damaged or cut short; copy or record it again";

/// A library's message on one line, without its own prefix and trace.
pub(super) fn plain(text: &str) -> String {
    let text = text.split(", error_trace").next().unwrap_or(text);
    let text = text.split_once(": ").map_or(text, |(head, rest)| {
        if head.contains("rror") || head == "EOF" || head.starts_with("Parquet") {
            rest
        } else {
            text
        }
    });
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}
