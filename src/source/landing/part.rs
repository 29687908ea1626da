//! What of a file can be read by now.

use std::fs::File;
use std::io::{self, ErrorKind, Read, Seek, SeekFrom, Write as _};
use std::path::{Path, PathBuf};

use tempfile::TempDir;

use super::lines::lines;
use super::stream::messages;
use crate::source::format::list::{has_ending, is_lines};
use crate::source::format::open::TableFile;
use crate::source::format::own::of_text;
use crate::source::read_error::ReadError;

/// How a stream that goes on begins: a format of other bytes has its end elsewhere.
const STREAM: [u8; 4] = [0xff; 4];

/// What was found.
#[derive(Debug)]
pub enum Look {
    /// All of it can be read, or the next part of it.
    Part(Part),
    /// Nothing more can be read yet, and why.
    NotYet(String),
    /// It is a file of this tool, and no recording.
    Own,
    /// It is gone.
    Gone,
}

/// How far a file that grows was read.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Mark {
    /// Bytes of the file before what is read next.
    pub bytes: u64,
    /// Rows before it.
    pub rows: u64,
}

/// What can be read.
#[derive(Debug)]
pub struct Part {
    path: PathBuf,
    /// The copy, for as long as this lives.
    copy: Option<TempDir>,
    /// Where pieces begin: rows and bytes of the file.
    pieces: Vec<Mark>,
    /// Rows of the file before it.
    pub rows_before: u64,
    /// Whether the file ends with it, so that its last episode is whole.
    pub ends: bool,
    /// Whether it is of a file that grows episode by episode.
    pub grows: bool,
}

impl Part {
    /// The whole of a file.
    fn whole(path: &Path, grows: bool) -> Self {
        let (copy, pieces) = (None, Vec::new());
        Self { path: path.into(), copy, pieces, rows_before: 0, ends: true, grows }
    }

    /// What to read.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// Whether it is a copy and not the file itself.
    pub fn is_copy(&self) -> bool {
        self.copy.is_some()
    }

    /// Where to go on, so that this row of the part is read again.
    pub fn mark(&self, row: u64) -> Mark {
        let row = self.rows_before + row;
        let next = self.pieces.partition_point(|piece| piece.rows <= row);
        next.checked_sub(1).and_then(|at| self.pieces.get(at)).copied().unwrap_or_default()
    }
}

/// Looks at a file. `from` is how far it was read; `closed` says that its writer has closed it, as
/// far as is known: lines of text have no other end.
pub fn look(path: &Path, from: Mark, closed: bool) -> Look {
    // A pipe waits for its writer when it is opened.
    if std::fs::metadata(path).is_ok_and(|meta| !meta.is_file()) {
        return Look::NotYet("it is no file".to_owned());
    }
    let found = File::open(path).and_then(|mut file| {
        let mut head = [0; 4];
        let read = file.read(&mut head)?;
        if head[..read] == STREAM {
            return stream(path, &file, from);
        }
        let packed = [".gz", ".zst"].iter().any(|ending| has_ending(path, &ending[1..]));
        if is_lines(path) && !packed {
            return text(path, &mut file, from, closed);
        }
        Ok(table(path))
    });
    match found {
        Ok(look) => look,
        Err(error) if error.kind() == ErrorKind::NotFound => Look::Gone,
        Err(error) => Look::NotYet(format!("it cannot be read: {error}")),
    }
}

/// A file in one piece.
fn table(path: &Path) -> Look {
    match TableFile::open(path) {
        Ok(_) => Look::Part(Part::whole(path, false)),
        Err(ReadError::Own(_)) => Look::Own,
        Err(ReadError::Open(error)) if error.kind() == ErrorKind::NotFound => Look::Gone,
        Err(error) => Look::NotYet(error.to_string()),
    }
}

fn stream(path: &Path, file: &File, from: Mark) -> io::Result<Look> {
    let found = messages(file)?;
    if found.ended && from == Mark::default() {
        return Ok(Look::Part(Part::whole(path, true)));
    }
    let mut rows = 0;
    let mut pieces = Vec::new();
    let mut ranges = found.heads.clone();
    for batch in &found.batches {
        if batch.bytes.start >= from.bytes {
            pieces.push(Mark { bytes: batch.bytes.start, rows });
            ranges.push(batch.bytes.clone());
        }
        rows += batch.rows;
    }
    let Some(first) = pieces.first().copied() else {
        return Ok(Look::NotYet("the stream has no end mark".to_owned()));
    };
    let (folder, name) = copy_of(path)?;
    let mut out = File::create(&name)?;
    let mut input = file;
    for range in ranges {
        input.seek(SeekFrom::Start(range.start))?;
        io::copy(&mut input.take(range.end - range.start), &mut out)?;
    }
    let (copy, rows_before, ends) = (Some(folder), first.rows, found.ended);
    Ok(Look::Part(Part { path: name, copy, pieces, rows_before, ends, grows: true }))
}

fn text(path: &Path, file: &mut File, from: Mark, closed: bool) -> io::Result<Look> {
    if of_text(path).is_some() {
        return Ok(Look::Own);
    }
    let named = !["jsonl", "ndjson"].iter().any(|ending| has_ending(path, ending));
    let found = lines(file, from.bytes, named)?;
    if found.starts.is_empty() {
        let why = if found.ended { "it holds no row" } else { "its last line is not ended" };
        return Ok(Look::NotYet(why.to_owned()));
    }
    let ends = closed && found.ended;
    if ends && from == Mark::default() {
        return Ok(Look::Part(Part::whole(path, true)));
    }
    let (folder, name) = copy_of(path)?;
    let mut out = File::create(&name)?;
    out.write_all(&found.head)?;
    out.write_all(&found.body)?;
    let piece = |(line, bytes): (u64, u64)| Mark { bytes, rows: from.rows + line };
    let pieces = (0..).zip(found.starts).map(piece).collect();
    let (copy, rows_before) = (Some(folder), from.rows);
    Ok(Look::Part(Part { path: name, copy, pieces, rows_before, ends, grows: true }))
}

/// A file of the same name in a folder of its own.
fn copy_of(path: &Path) -> io::Result<(TempDir, PathBuf)> {
    let folder = tempfile::Builder::new().prefix("teleassay-").tempdir()?;
    let name = path.file_name().ok_or_else(|| io::Error::other("it has no name"))?;
    let name = folder.path().join(name);
    Ok((folder, name))
}

#[cfg(test)]
mod tests;
