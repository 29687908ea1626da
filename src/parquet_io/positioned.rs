//! Reads a file by position, never by a shared cursor, with some stretches held in memory.

use std::fs::File;
use std::io::{BufReader, Read, Result as IoResult};
use std::ops::Range;
use std::sync::Arc;

use bytes::{Buf, Bytes};
use parquet::errors::{ParquetError, Result};
use parquet::file::reader::{ChunkReader, Length};

/// Stretches closer than this are fetched in one go: a second call costs more than the gap.
const GAP: u64 = 64 << 10;
/// Page headers are small; what is read beyond one is thrown away.
const HEADER: usize = 4 << 10;

/// A file, and stretches of it that are held in memory.
///
/// Mapping the file into memory would be as fast, and a file that is cut short meanwhile would
/// then end the process.
#[derive(Debug, Clone)]
pub(crate) struct Positioned {
    file: Arc<File>,
    len: u64,
    held: Arc<[(u64, Bytes)]>,
}

impl Positioned {
    /// Nothing held yet.
    pub fn new(file: Arc<File>, len: u64) -> Self {
        Self { file, len, held: Arc::new([]) }
    }

    /// The same file with its last bytes held: enough for most footers.
    pub fn hold_tail(&self, bytes: u64) -> IoResult<Self> {
        self.hold(std::iter::once(self.len.saturating_sub(bytes)..self.len))
    }

    /// Whether the file ends with these bytes, as far as its end is held.
    pub fn ends_with(&self, mark: &[u8]) -> bool {
        let start = self.len.saturating_sub(mark.len() as u64);
        self.find(start, self.len - start).is_some_and(|end| end.starts_with(mark))
    }

    /// The same file with these stretches held as well; sorted by position.
    pub fn hold(&self, stretches: impl IntoIterator<Item = Range<u64>>) -> IoResult<Self> {
        let mut merged: Vec<Range<u64>> = Vec::new();
        for next in stretches {
            match merged.last_mut() {
                Some(last) if next.start >= last.start && next.start <= last.end + GAP => {
                    last.end = last.end.max(next.end);
                }
                _ => merged.push(next),
            }
        }
        let mut held = Vec::with_capacity(merged.len() + self.held.len());
        held.extend(self.held.iter().cloned());
        for stretch in merged {
            if self.find(stretch.start, stretch.end - stretch.start).is_none() {
                let mut buffer = vec![0; (stretch.end - stretch.start) as usize];
                read_exact_at(&self.file, &mut buffer, stretch.start)?;
                held.push((stretch.start, buffer.into()));
            }
        }
        Ok(Self { file: Arc::clone(&self.file), len: self.len, held: held.into() })
    }

    /// A stretch's bytes and those held after them, if all of it is held.
    pub fn find(&self, start: u64, length: u64) -> Option<Bytes> {
        let inside =
            |(at, b): &&(u64, Bytes)| *at <= start && start + length <= at + b.len() as u64;
        let (at, bytes) = self.held.iter().find(inside)?;
        Some(bytes.slice((start - at) as usize..))
    }
}

impl Length for Positioned {
    fn len(&self) -> u64 {
        self.len
    }
}

impl ChunkReader for Positioned {
    type T = Box<dyn Read>;

    fn get_read(&self, start: u64) -> Result<Self::T> {
        if let Some(bytes) = self.find(start, 1) {
            return Ok(Box::new(bytes.reader()));
        }
        let cursor = Cursor { file: Arc::clone(&self.file), at: start };
        Ok(Box::new(BufReader::with_capacity(HEADER, cursor)))
    }

    fn get_bytes(&self, start: u64, length: usize) -> Result<Bytes> {
        let end = start.checked_add(length as u64).filter(|end| *end <= self.len);
        if end.is_none() {
            let text =
                format!("needs byte {} of {}", start.saturating_add(length as u64), self.len);
            return Err(ParquetError::EOF(text));
        }
        if let Some(bytes) = self.find(start, length as u64) {
            return Ok(bytes.slice(..length));
        }
        let mut buffer = vec![0; length];
        read_exact_at(&self.file, &mut buffer, start)?;
        Ok(buffer.into())
    }
}

/// A cursor of its own over a shared file.
struct Cursor {
    file: Arc<File>,
    at: u64,
}

impl Read for Cursor {
    fn read(&mut self, buffer: &mut [u8]) -> IoResult<usize> {
        let read = read_at(&self.file, buffer, self.at)?;
        self.at += read as u64;
        Ok(read)
    }
}

#[cfg(unix)]
fn read_at(file: &File, buffer: &mut [u8], at: u64) -> IoResult<usize> {
    std::os::unix::fs::FileExt::read_at(file, buffer, at)
}

#[cfg(windows)]
fn read_at(file: &File, buffer: &mut [u8], at: u64) -> IoResult<usize> {
    std::os::windows::fs::FileExt::seek_read(file, buffer, at)
}

/// Fills the buffer from a position.
pub(crate) fn read_exact_at(file: &File, mut buffer: &mut [u8], mut at: u64) -> IoResult<()> {
    while !buffer.is_empty() {
        match read_at(file, buffer, at) {
            Ok(0) => return Err(std::io::ErrorKind::UnexpectedEof.into()),
            Ok(n) => {
                buffer = &mut buffer[n..];
                at += n as u64;
            }
            Err(e) if e.kind() == std::io::ErrorKind::Interrupted => {}
            Err(e) => return Err(e),
        }
    }
    Ok(())
}
