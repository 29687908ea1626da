//! Parquet: the footer, and what its statistics say. A piece is a row group.

use std::borrow::Cow;
use std::ops::Range;
use std::sync::Arc;

use arrow::datatypes::{DataType, Schema};
use parquet::arrow::arrow_reader::{ArrowReaderMetadata, ArrowReaderOptions};
use parquet::arrow::parquet_to_arrow_schema;
use parquet::file::metadata::{ParquetStatisticsPolicy, RowGroupMetaData};
use parquet::file::statistics::Statistics;

use crate::parquet_io::footer;
use crate::source::format::own::of_parquet;
use crate::source::format::parquet_rows::ParquetRows;
use crate::source::format::table::{
    Format, Kept, Opening, Purpose, Refusal, SingleId, Table, Visit,
};
use crate::source::read_error::ReadError;
use crate::source::roles::shape::{ColumnPath, field_at};

/// Apache Parquet.
pub(super) static FORMAT: Format = Format {
    endings: &["parquet", "pq"],
    alone: false,
    head: b"PAR1",
    tail: b"PAR1",
    refused: &[Refusal {
        head: b"PARE",
        what: "its footer is encrypted, which is not read",
        hint: None,
    }],
    open,
};

fn open(opening: Opening<'_>) -> Result<Box<dyn Table>, ReadError> {
    let Opening { input, purpose, kept, .. } = opening;
    let known = kept.and_then(|kept| kept.parsed.downcast_ref::<ArrowReaderMetadata>().cloned());
    if let Some(footer) = known {
        return Ok(Box::new(ParquetRows { input, footer }));
    }
    // Types come from the Parquet schema alone: it costs a third less time to read plain
    // lists than the fixed-size lists and dictionaries that the writer may have had.
    let mut options = ArrowReaderOptions::new().with_skip_arrow_metadata(true);
    if purpose == Purpose::Rows {
        options = options
            .with_column_stats_policy(ParquetStatisticsPolicy::SkipAll)
            .with_size_stats_policy(ParquetStatisticsPolicy::SkipAll)
            .with_encoding_stats_policy(ParquetStatisticsPolicy::SkipAll);
    }
    let footer = footer::load(&input, options)?;
    if let Some(what) = of_parquet(footer.metadata().file_metadata()) {
        return Err(ReadError::Own(what));
    }
    Ok(Box::new(ParquetRows { input, footer }))
}

impl Table for ParquetRows {
    fn schema(&self) -> &Schema {
        self.footer.schema()
    }

    fn written_schema(&self) -> Cow<'_, Schema> {
        let meta = self.footer.metadata().file_metadata();
        Cow::Owned(
            parquet_to_arrow_schema(meta.schema_descr(), meta.key_value_metadata())
                .unwrap_or_else(|_| self.footer.schema().as_ref().clone()),
        )
    }

    fn scan(
        &self,
        wanted: &[ColumnPath],
        ranges: &[Range<u64>],
        visit: Visit<'_>,
    ) -> Result<(), ReadError> {
        self.rows(wanted, ranges, visit)
    }

    fn known_ends(&self) -> Option<Vec<u64>> {
        Some(self.ends())
    }

    fn single_id(&self, column: &[String], piece: usize) -> Option<SingleId> {
        let &[leaf] = self.leaves(column).as_slice() else { return None };
        let group: &RowGroupMetaData = &self.groups()[piece];
        let statistics = group.column(leaf).statistics()?;
        if statistics.null_count_opt() != Some(0) {
            return None;
        }
        let stored = field_at(self.schema(), column)?.data_type();
        match statistics {
            Statistics::Int32(s)
                if matches!(stored, DataType::Int8 | DataType::Int16 | DataType::Int32) =>
            {
                let (min, max) = (s.min_opt()?, s.max_opt()?);
                (min == max).then(|| SingleId::Number(i64::from(*min)))
            }
            Statistics::Int64(s) if *stored == DataType::Int64 => {
                let (min, max) = (s.min_opt()?, s.max_opt()?);
                (min == max).then_some(SingleId::Number(*min))
            }
            // Bounds of texts may be cut short, so only exact ones count.
            Statistics::ByteArray(s)
                if *stored == DataType::Utf8 && s.min_is_exact() && s.max_is_exact() =>
            {
                let (min, max) = (s.min_opt()?, s.max_opt()?);
                let text = std::str::from_utf8(min.data()).ok()?;
                (min == max).then(|| SingleId::Text(text.to_string()))
            }
            _ => None,
        }
    }

    fn values(&self, column: &[String]) -> Option<u64> {
        let &[leaf] = self.leaves(column).as_slice() else { return None };
        Some(self.groups().iter().map(|group| group.column(leaf).num_values() as u64).sum())
    }

    fn unsure(&self) -> bool {
        const TIGHT: i64 = 256;
        const LARGE: i64 = 64 << 20;
        self.groups().iter().flat_map(RowGroupMetaData::columns).any(|chunk| {
            let (column, unpacked) = (chunk.column_descr(), chunk.uncompressed_size());
            let tight = unpacked / TIGHT > chunk.compressed_size() && unpacked > LARGE;
            tight || column.max_rep_level() > 2 || column.max_def_level() > 8
        })
    }

    fn keep(&self) -> Option<Kept> {
        Some(Kept { format: &FORMAT, parsed: Arc::new(self.footer.clone()) })
    }
}
