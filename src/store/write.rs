//! Writes a measurements file, wave by wave.

use std::io::Write;
use std::sync::Arc;

use parquet::arrow::ArrowWriter;
use parquet::basic::{Compression, ZstdLevel};
use parquet::file::metadata::KeyValue;
use parquet::file::properties::{EnabledStatistics, WriterProperties};
use parquet::schema::types::ColumnPath;

use super::build::Rows;
use super::error::StoreError;
use super::format::{FORMAT, KEY};
use super::header::{About, Header};
use super::layout::StoredColumns;
use super::sum::{SUMS, Tallied, Tally};
use crate::catalogue::find_of_episodes;
use crate::model::{Unread, path_text};

/// Episodes to a row group: what is held, compressed, while writing, and judged at a time.
const GROUP: usize = 4096;

/// A measurements file that is being written.
pub struct Writer<'a> {
    layout: Arc<StoredColumns>,
    about: About,
    out: ArrowWriter<Tallied<Box<dyn Write + Send + 'a>>>,
    tally: Tally,
}

impl<'a> Writer<'a> {
    /// Begins a measurements file.
    ///
    /// # Errors
    /// If the output cannot be written.
    pub fn new(out: Box<dyn Write + Send + 'a>, about: About) -> Result<Self, StoreError> {
        let sources = about.inputs.iter().map(|i| path_text(&i.path)).collect();
        let has = |check: &&&'static crate::model::CheckSpec| {
            find_of_episodes(check.id).is_some_and(|c| c.left_out(&about.rig).is_none())
        };
        let checks: Vec<_> = about.checks.iter().filter(has).copied().collect();
        let layout = Arc::new(StoredColumns::new(&about.rig, &checks, sources));
        let mut properties = WriterProperties::builder()
            .set_compression(Compression::ZSTD(ZstdLevel::default()))
            // Row groups end where `write` ends them.
            .set_max_row_group_row_count(Some(2 * GROUP))
            .set_statistics_enabled(EnabledStatistics::None)
            .set_offset_index_disabled(true)
            .set_created_by(format!("teleassay {} format {FORMAT}", env!("CARGO_PKG_VERSION")));
        // Readings hardly ever repeat: a dictionary of them is as long as they are.
        for slot in &layout.slots {
            let column = ColumnPath::from(slot.name.as_str());
            properties = properties.set_column_dictionary_enabled(column, false);
        }
        let tally = Tally::default();
        let out = Tallied { out, tally: tally.clone() };
        let out = ArrowWriter::try_new(out, Arc::clone(&layout.schema), Some(properties.build()))?;
        Ok(Self { layout, about, out, tally })
    }

    /// The columns, to make rows of.
    pub fn layout(&self) -> &Arc<StoredColumns> {
        &self.layout
    }

    /// Writes the next rows.
    ///
    /// # Errors
    /// If the output cannot be written.
    pub fn write(&mut self, Rows(rows): &Rows) -> Result<(), StoreError> {
        let mut first = 0;
        while first < rows.num_rows() {
            let room = GROUP - self.out.in_progress_rows();
            let next = room.min(rows.num_rows() - first);
            self.out.write(&rows.slice(first, next))?;
            if next == room {
                self.end_of_group()?;
            }
            first += next;
        }
        // Synced at every wave and not only at every row group: a full disk, or a reader that is
        // gone, is known before thousands of episodes are measured in vain.
        self.sync()
    }

    /// Ends the measurements file with what could not be read.
    ///
    /// # Errors
    /// If the output cannot be written.
    pub fn finish(mut self, unread: &[Unread]) -> Result<(), StoreError> {
        if self.out.in_progress_rows() > 0 {
            self.end_of_group()?;
        }
        let header = Header::new(&self.about, unread);
        let text =
            serde_json::to_string(&header).map_err(|e| StoreError::Unwritten(e.to_string()))?;
        self.out.append_key_value_metadata(KeyValue::new(KEY.to_owned(), text));
        let sums = serde_json::to_string(&self.tally.sums())
            .map_err(|e| StoreError::Unwritten(e.to_string()))?;
        self.out.append_key_value_metadata(KeyValue::new(SUMS.to_owned(), sums));
        self.out.close()?;
        Ok(())
    }

    /// Everything of a row group is written, and nothing of the next one yet.
    fn end_of_group(&mut self) -> Result<(), StoreError> {
        self.out.flush()?;
        // What is still in the library's own buffer belongs to this block too.
        self.sync()?;
        self.tally.block();
        Ok(())
    }

    fn sync(&mut self) -> Result<(), StoreError> {
        self.out.sync().map_err(|error| StoreError::Unwritten(error.to_string()))
    }
}

impl std::fmt::Debug for Writer<'_> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Writer").field("layout", &self.layout).finish_non_exhaustive()
    }
}
