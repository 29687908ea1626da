//! Pages of texts, held against what decoding them takes.
//!
//! A page of a few bytes can refer to one long text of the dictionary a million times, or repeat the
//! text before it. parquet 60.1 reserves a batch of them at once, and as many lengths as the page says
//! that it has.
//!
//! Reference: Apache Parquet format 2.11, `Encodings.md` (delta encodings).

use parquet::basic::{Encoding, Type};
use parquet::column::page::{Page, PageMetadata, PageReader};
use parquet::errors::{ParquetError, Result};
use parquet::file::metadata::ColumnChunkMetaData;

use crate::parquet_io::delta;

/// Bytes of text that may become one batch.
const MOST: u64 = 256 << 20;
/// Rows of the largest batch that is read anywhere.
const BATCH: u64 = 8192;

/// The pages of a chunk, those of texts looked at before they are decoded.
pub(super) struct Looked {
    pages: Box<dyn PageReader>,
    levels: [bool; 2],
    /// The length of every value, where it is fixed.
    fixed: Option<u64>,
    /// The longest text of the dictionary.
    longest: u64,
    /// Values and bytes of text since the last time that a batch must have ended.
    window: [u64; 2],
}

/// Whether the pages of a chunk are to be looked at.
pub(super) fn concerns(chunk: &ColumnChunkMetaData) -> bool {
    matches!(chunk.column_type(), Type::BYTE_ARRAY | Type::FIXED_LEN_BYTE_ARRAY)
}

impl Looked {
    pub fn new(pages: Box<dyn PageReader>, chunk: &ColumnChunkMetaData) -> Self {
        let column = chunk.column_descr();
        let levels = [column.max_rep_level() > 0, column.max_def_level() > 0];
        let fixed = (chunk.column_type() == Type::FIXED_LEN_BYTE_ARRAY)
            .then(|| u64::try_from(column.type_length()).unwrap_or(0));
        Self { pages, levels, fixed, longest: 0, window: [0; 2] }
    }

    fn look(&mut self, page: &Page) -> Result<()> {
        match page {
            Page::DictionaryPage { buf, .. } => {
                self.longest = self.fixed.unwrap_or_else(|| longest(buf));
                return Ok(());
            }
            Page::DataPage { buf, num_values, encoding, .. } => {
                self.data(*encoding, u64::from(*num_values), || self.after_levels(buf))
            }
            Page::DataPageV2 {
                buf,
                num_values,
                encoding,
                def_levels_byte_len,
                rep_levels_byte_len,
                ..
            } => {
                let levels = *def_levels_byte_len as usize + *rep_levels_byte_len as usize;
                self.data(*encoding, u64::from(*num_values), || buf.get(levels..))
            }
        }
        .and_then(|[values, bytes]| self.count(values, bytes))
    }

    /// Values of a page and the bytes of text that they are.
    fn data<'a>(
        &self,
        encoding: Encoding,
        values: u64,
        stored: impl Fn() -> Option<&'a [u8]>,
    ) -> Result<[u64; 2]> {
        let broken = |what: &str| ParquetError::General(format!("a page of texts {what}"));
        let bytes = match encoding {
            Encoding::DELTA_LENGTH_BYTE_ARRAY => {
                let stored = stored().ok_or_else(|| broken("is cut short"))?;
                delta::sum(stored, values).ok_or_else(|| broken("states wrong lengths"))?.sum
            }
            Encoding::DELTA_BYTE_ARRAY => {
                let stored = stored().ok_or_else(|| broken("is cut short"))?;
                let both = delta::sum(stored, values).and_then(|before| {
                    let after = delta::sum(stored.get(before.end..)?, values)?;
                    Some(before.sum + after.sum)
                });
                both.ok_or_else(|| broken("states wrong lengths"))?
            }
            Encoding::PLAIN_DICTIONARY | Encoding::RLE_DICTIONARY => {
                values.min(BATCH).saturating_mul(self.longest)
            }
            // What is stored as it is takes no more than its page.
            _ => 0,
        };
        Ok([values, bytes])
    }

    /// The values of a page of the first version: levels stand in front with their lengths.
    fn after_levels<'a>(&self, mut page: &'a [u8]) -> Option<&'a [u8]> {
        for _ in self.levels.iter().filter(|there| **there) {
            let (length, rest) = page.split_first_chunk()?;
            page = rest.get(u32::from_le_bytes(*length) as usize..)?;
        }
        Some(page)
    }

    fn count(&mut self, values: u64, bytes: u64) -> Result<()> {
        let [counted, text] = self.window;
        self.window = [counted + values, text.saturating_add(bytes)];
        if self.window[1] > MOST {
            let what = format!("texts of {} bytes in {} rows", self.window[1], self.window[0]);
            return Err(ParquetError::General(format!("a page holds {what}")));
        }
        if self.window[0] >= BATCH {
            self.window = [0; 2];
        }
        Ok(())
    }

    fn looked(&mut self, page: Option<Page>) -> Result<Option<Page>> {
        page.iter().try_for_each(|page| self.look(page))?;
        Ok(page)
    }
}

/// The longest text of a dictionary page.
fn longest(mut page: &[u8]) -> u64 {
    let mut longest = 0;
    while let Some((length, rest)) = page.split_first_chunk() {
        let length = u32::from_le_bytes(*length);
        longest = longest.max(length);
        let Some(rest) = rest.get(length as usize..) else { break };
        page = rest;
    }
    u64::from(longest)
}

impl Iterator for Looked {
    type Item = Result<Page>;

    fn next(&mut self) -> Option<Self::Item> {
        self.get_next_page().transpose()
    }
}

impl PageReader for Looked {
    fn get_next_page(&mut self) -> Result<Option<Page>> {
        let page = self.pages.get_next_page()?;
        self.looked(page)
    }

    fn peek_next_page(&mut self) -> Result<Option<PageMetadata>> {
        self.pages.peek_next_page()
    }

    fn skip_next_page(&mut self) -> Result<()> {
        self.pages.skip_next_page()
    }

    fn supports_deferred_dictionary(&self) -> bool {
        self.pages.supports_deferred_dictionary()
    }

    fn take_deferred_dictionary(&mut self) -> Result<Option<Page>> {
        let page = self.pages.take_deferred_dictionary()?;
        self.looked(page)
    }

    fn at_record_boundary(&mut self) -> Result<bool> {
        self.pages.at_record_boundary()
    }
}
