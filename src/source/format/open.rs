//! Opens a table file, whatever its format.

use std::fs::{File, Metadata};
use std::path::Path;
use std::sync::Arc;
use std::time::SystemTime;

use parquet::file::reader::{ChunkReader, Length};

use crate::parquet_io::positioned::Positioned;
use crate::source::elsewhere;
use crate::source::format::list::{FORMATS, has_ending};
use crate::source::format::own::{Text, of_text};
use crate::source::format::table::{Format, Kept, Opening, Purpose, Table};
use crate::source::read_error::ReadError;

/// Length and time of change. They show whether a file is still being written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::source) struct Stamp {
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
pub(in crate::source) struct Known<'a> {
    pub stamp: Option<Stamp>,
    pub kept: Option<Kept>,
    /// Ends of its pieces.
    pub ends: &'a [u64],
}

/// An open table file.
#[derive(Debug)]
pub(in crate::source) struct TableFile {
    pub stamp: Stamp,
    pub table: Box<dyn Table>,
}

impl TableFile {
    /// Opens a table for the index.
    pub fn open(path: &Path) -> Result<Self, ReadError> {
        Self::open_known(path, Known::default(), Purpose::Index)
    }

    /// Opens a table for the index that was looked at before.
    pub fn index(path: &Path, known: Known<'_>) -> Result<Self, ReadError> {
        Self::open_known(path, known, Purpose::Index)
    }

    /// Opens a table that was looked at before, for its rows.
    pub fn reopen(path: &Path, known: Known<'_>) -> Result<Self, ReadError> {
        Self::open_known(path, known, Purpose::Rows)
    }

    fn open_known(path: &Path, known: Known<'_>, purpose: Purpose) -> Result<Self, ReadError> {
        // A pipe waits for its writer when it is opened.
        let meta = std::fs::metadata(path).map_err(ReadError::Open)?;
        if meta.is_dir() {
            return Err(ReadError::Folder);
        }
        if !meta.is_file() {
            return Err(ReadError::NoFile);
        }
        let file = File::open(path).map_err(ReadError::Open)?;
        let meta = file.metadata().map_err(ReadError::Open)?;
        let stamp = Stamp::from(&meta);
        if known.stamp.is_some_and(|before| before != stamp) {
            return Err(ReadError::Changed);
        }
        let Known { kept, ends, .. } = known;
        let mut input = Positioned::new(Arc::new(file), stamp.bytes);
        let format = if let Some(kept) = &kept {
            kept.format
        } else {
            input = input.hold_tail(tail(stamp.bytes, purpose)).map_err(ReadError::Read)?;
            recognise(path, &input)?
        };
        let table = (format.open)(Opening { path, input, purpose, kept, ends })?;
        if purpose == Purpose::Index && table.unsure() {
            elsewhere::survives(path)?;
        }
        Ok(Self { stamp, table })
    }
}

/// How much of a file's end to fetch with its footer. There may be very many small files: of one,
/// the index takes little more than the footer. If its rows are read next, all of it is fetched.
fn tail(bytes: u64, purpose: Purpose) -> u64 {
    const LARGE: u64 = 64 << 10;
    const SMALL_FILE: u64 = 256 << 10;
    const SMALL: u64 = 8 << 10;
    if bytes <= SMALL_FILE && purpose == Purpose::Index { SMALL } else { LARGE }
}

/// The format of a file: by its last bytes, else its first, else its ending.
fn recognise(path: &Path, input: &Positioned) -> Result<&'static Format, ReadError> {
    let mut formats = FORMATS.iter().copied();
    let by_tail = |f: &&Format| !f.tail.is_empty() && input.ends_with(f.tail);
    if let Some(format) = formats.clone().find(by_tail) {
        return Ok(format);
    }
    let wanted = input.len().min(8) as usize;
    let first =
        input.get_bytes(0, wanted).map_err(|e| ReadError::Read(std::io::Error::other(e)))?;
    if first.is_empty() {
        return Err(ReadError::Empty);
    }
    let by_head = |f: &&Format| !f.head.is_empty() && first.starts_with(f.head);
    if let Some(format) = formats.clone().find(by_head) {
        return Ok(format);
    }
    let refused = formats.clone().flat_map(|format| format.refused);
    if let Some(refusal) = refused.into_iter().find(|refusal| first.starts_with(refusal.head)) {
        return Err(ReadError::Refused { what: refusal.what, hint: refusal.hint });
    }
    let by_ending = |f: &&Format| {
        let unmarked = f.head.is_empty() && f.tail.is_empty();
        unmarked && f.endings.iter().any(|known| has_ending(path, known))
    };
    // What this tool wrote has the endings of tables, and is none.
    match of_text(path) {
        Some(Text::Output(what)) => return Err(ReadError::Own(what)),
        Some(Text::Answers) => {
            return Err(ReadError::Own("is the answer key of a simulated session"));
        }
        None => {}
    }
    formats.find(by_ending).ok_or_else(|| ReadError::Unknown(first.escape_ascii().to_string()))
}
