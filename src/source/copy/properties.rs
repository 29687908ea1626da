//! How a Parquet file was written, so that its copy is written alike: codec, encoding, dictionary,
//! statistics, page version and filters of each column.

use std::sync::Arc;

use parquet::basic::{Compression, Encoding, PageType, Type};
use parquet::file::metadata::{ColumnChunkMetaData, KeyValue, ParquetMetaData, RowGroupMetaData};
use parquet::file::properties::{
    EnabledStatistics, WriterProperties, WriterPropertiesPtr, WriterVersion,
};

use crate::source::copy::table::{TableCopy, noted};

/// Encodings of values that are no dictionary's, the particular ones first.
const ENCODINGS: [Encoding; 4] = [
    Encoding::BYTE_STREAM_SPLIT,
    Encoding::DELTA_BINARY_PACKED,
    Encoding::DELTA_LENGTH_BYTE_ARRAY,
    Encoding::DELTA_BYTE_ARRAY,
];

/// A dictionary of up to so many bytes is never too large.
const SMALL: i64 = 64 << 10;
/// Levels that are looked at together while they are written.
const AT_ONCE: usize = 8192;

/// The properties of the file, with a note added to its metadata.
pub(super) fn like(metadata: &ParquetMetaData, note: &str) -> WriterPropertiesPtr {
    let file = metadata.file_metadata();
    let mut pairs = file.key_value_metadata().cloned().unwrap_or_default();
    let before = pairs.iter().position(|pair| pair.key == TableCopy::KEY);
    let before = before.and_then(|at| pairs.remove(at).value);
    pairs.push(KeyValue::new(TableCopy::KEY.to_owned(), noted(before.as_deref(), note)));
    let first = metadata.row_groups().first();
    let columns = || first.into_iter().flat_map(RowGroupMetaData::columns);
    let version = if columns().any(newer_pages) {
        WriterVersion::PARQUET_2_0
    } else {
        WriterVersion::PARQUET_1_0
    };
    let indexed = columns().any(|column| column.offset_index_offset().is_some());
    let mut builder = WriterProperties::builder()
        .set_writer_version(version)
        .set_offset_index_disabled(!indexed)
        .set_max_row_group_row_count(None)
        .set_write_batch_size(AT_ONCE)
        .set_sorting_columns(first.and_then(|group| group.sorting_columns().cloned()))
        .set_key_value_metadata(Some(pairs));
    for column in columns() {
        let path = column.column_path().clone();
        let statistics = match (column.statistics(), column.column_index_offset()) {
            (None, _) => EnabledStatistics::None,
            (Some(_), None) => EnabledStatistics::Chunk,
            (Some(_), Some(_)) => EnabledStatistics::Page,
        };
        let dictionary = worth_a_dictionary(column);
        builder = builder
            .set_column_compression(path.clone(), Compression::from(column.compression_codec()))
            .set_column_dictionary_enabled(path.clone(), dictionary)
            .set_column_statistics_enabled(path.clone(), statistics);
        if column.column_type() != Type::BOOLEAN {
            builder = builder.set_column_encoding(path.clone(), encoding(column));
        }
        if column.bloom_filter_offset().is_some() {
            builder = builder.set_column_bloom_filter_enabled(path, true);
        }
    }
    Arc::new(builder.build())
}

/// How values are stored where there is no dictionary.
fn encoding(column: &ColumnChunkMetaData) -> Encoding {
    let stored = |wanted: &Encoding| column.encodings().any(|encoding| encoding == *wanted);
    ENCODINGS.into_iter().find(stored).unwrap_or(Encoding::PLAIN)
}

/// Whether its values have a dictionary that is smaller than what it spares: one of values that are all
/// different costs time, and spares nothing.
fn worth_a_dictionary(column: &ColumnChunkMetaData) -> bool {
    let named = |e| matches!(e, Encoding::PLAIN_DICTIONARY | Encoding::RLE_DICTIONARY);
    let Some(start) = column.dictionary_page_offset() else {
        return column.encodings().any(named);
    };
    let bytes = column.data_page_offset() - start;
    let large = bytes > column.compressed_size() / 2 && bytes > SMALL;
    !large && column.encodings().any(named)
}

/// Whether its pages are of version 2.
fn newer_pages(column: &ColumnChunkMetaData) -> bool {
    let pages = column.page_encoding_stats();
    pages.is_some_and(|pages| pages.iter().any(|page| page.page_type == PageType::DATA_PAGE_V2))
}
