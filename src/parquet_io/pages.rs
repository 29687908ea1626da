//! Pages of a row group, inflated by one decompressor per thread.
//!
//! The parquet crate makes a codec, compressor and decompressor both, for every column chunk. For
//! a file of one episode that takes a quarter of the reading time. Here the crate learns that
//! zstd chunks are not compressed, so that it hands over the pages as they are stored, and they
//! are inflated on the way with a context that lives as long as its thread.

use std::cell::RefCell;
use std::ops::Range;
use std::sync::Arc;

use bytes::Bytes;
use parquet::arrow::arrow_reader::RowGroups;
use parquet::basic::Compression;
use parquet::column::page::{Page, PageIterator, PageMetadata, PageReader};
use parquet::errors::{ParquetError, Result};
use parquet::file::metadata::{ColumnChunkMetaData, ParquetMetaData, RowGroupMetaData};
use parquet::file::serialized_reader::SerializedPageReader;

use crate::parquet_io::positioned::Positioned;
use crate::parquet_io::texts::Looked;
use crate::parquet_io::{headers, texts};

thread_local! {
    static INFLATER: RefCell<Option<zstd::bulk::Decompressor<'static>>> =
        const { RefCell::new(None) };
}

/// Some row groups of a file.
pub(crate) struct GroupPages {
    pub input: Arc<Positioned>,
    pub metadata: Arc<ParquetMetaData>,
    pub groups: Range<usize>,
}

impl RowGroups for GroupPages {
    fn num_rows(&self) -> usize {
        self.row_groups().map(|group| group.num_rows() as usize).sum()
    }

    fn column_chunks(&self, column: usize) -> Result<Box<dyn PageIterator>> {
        Ok(Box::new(Chunks {
            input: Arc::clone(&self.input),
            metadata: Arc::clone(&self.metadata),
            groups: self.groups.clone(),
            column,
        }))
    }

    fn row_groups(&self) -> Box<dyn Iterator<Item = &RowGroupMetaData> + '_> {
        Box::new(self.metadata.row_groups()[self.groups.clone()].iter())
    }

    fn metadata(&self) -> &ParquetMetaData {
        &self.metadata
    }
}

/// The chunks of one column, one row group after the other.
struct Chunks {
    input: Arc<Positioned>,
    metadata: Arc<ParquetMetaData>,
    groups: Range<usize>,
    column: usize,
}

impl Iterator for Chunks {
    type Item = Result<Box<dyn PageReader>>;

    fn next(&mut self) -> Option<Self::Item> {
        let group = self.metadata.row_group(self.groups.next()?);
        Some(self.chunk(group))
    }
}

impl PageIterator for Chunks {}

impl Chunks {
    fn chunk(&self, group: &RowGroupMetaData) -> Result<Box<dyn PageReader>> {
        let chunk = group.column(self.column);
        headers::vet(&self.input, chunk)?;
        let pages = self.pages(chunk, group.num_rows() as usize)?;
        Ok(if texts::concerns(chunk) { Box::new(Looked::new(pages, chunk)) } else { pages })
    }

    fn pages(&self, chunk: &ColumnChunkMetaData, rows: usize) -> Result<Box<dyn PageReader>> {
        let input = Arc::clone(&self.input);
        if !matches!(chunk.compression(), Compression::ZSTD(_)) {
            return Ok(Box::new(SerializedPageReader::new(input, chunk, rows, None)?));
        }
        let as_stored =
            chunk.clone().into_builder().set_compression(Compression::UNCOMPRESSED).build()?;
        let stored = SerializedPageReader::new(input, &as_stored, rows, None)?;
        let most = usize::try_from(chunk.uncompressed_size()).unwrap_or(0);
        Ok(Box::new(Inflating { stored, most }))
    }
}

/// Pages as they are stored, inflated one by one.
struct Inflating {
    stored: SerializedPageReader<Positioned>,
    /// Bytes of the whole chunk when inflated: no page has more.
    most: usize,
}

impl Inflating {
    fn inflate(&self, mut page: Page) -> Result<Page> {
        match &mut page {
            Page::DataPage { buf, .. } | Page::DictionaryPage { buf, .. } => {
                *buf = self.inflated(buf, 0)?;
            }
            Page::DataPageV2 {
                buf,
                def_levels_byte_len,
                rep_levels_byte_len,
                is_compressed,
                ..
            } => {
                if std::mem::take(is_compressed) {
                    // Levels lie before the values and are never compressed.
                    let levels = (*def_levels_byte_len as usize) + (*rep_levels_byte_len as usize);
                    *buf = self.inflated(buf, levels)?;
                }
            }
        }
        Ok(page)
    }

    /// The bytes with everything after the first `plain` inflated.
    fn inflated(&self, stored: &Bytes, plain: usize) -> Result<Bytes> {
        let broken = |what: &str| ParquetError::General(format!("zstd page: {what}"));
        let (head, frame) = stored.split_at_checked(plain).ok_or_else(|| broken("cut short"))?;
        if frame.is_empty() {
            return Ok(stored.clone());
        }
        let stated = zstd::zstd_safe::get_frame_content_size(frame).ok().flatten();
        let stated = stated.and_then(|bytes| usize::try_from(bytes).ok()).unwrap_or(self.most);
        if stated > self.most {
            return Err(broken("larger than its column chunk"));
        }
        let mut out = Vec::with_capacity(plain + stated);
        out.extend_from_slice(head);
        let values = INFLATER.with_borrow_mut(|kept| {
            let inflater = match kept {
                Some(inflater) => inflater,
                None => kept.insert(zstd::bulk::Decompressor::new()?),
            };
            let mut rest = std::io::Cursor::new(&mut out);
            rest.set_position(plain as u64);
            inflater.decompress_to_buffer(frame, &mut rest)
        });
        values.map_err(|e: std::io::Error| broken(&e.to_string()))?;
        Ok(out.into())
    }
}

impl Iterator for Inflating {
    type Item = Result<Page>;

    fn next(&mut self) -> Option<Self::Item> {
        self.get_next_page().transpose()
    }
}

impl PageReader for Inflating {
    fn get_next_page(&mut self) -> Result<Option<Page>> {
        self.stored.get_next_page()?.map(|page| self.inflate(page)).transpose()
    }

    fn peek_next_page(&mut self) -> Result<Option<PageMetadata>> {
        self.stored.peek_next_page()
    }

    fn skip_next_page(&mut self) -> Result<()> {
        self.stored.skip_next_page()
    }

    fn supports_deferred_dictionary(&self) -> bool {
        self.stored.supports_deferred_dictionary()
    }

    fn take_deferred_dictionary(&mut self) -> Result<Option<Page>> {
        self.stored.take_deferred_dictionary()?.map(|page| self.inflate(page)).transpose()
    }

    fn at_record_boundary(&mut self) -> Result<bool> {
        self.stored.at_record_boundary()
    }
}
