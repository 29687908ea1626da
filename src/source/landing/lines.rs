//! Text that grows line by line.

use std::fs::File;
use std::io::{self, Read, Seek, SeekFrom};

/// Whole lines of a file from a place on.
#[derive(Debug, Default)]
pub(super) struct Lines {
    /// The line of column names, where the text has one.
    pub head: Vec<u8>,
    /// The bytes of the whole lines.
    pub body: Vec<u8>,
    /// Where each line that holds something begins in the file.
    pub starts: Vec<u64>,
    /// Whether nothing follows the last whole line.
    pub ended: bool,
}

/// Reads them. `from` is where the first one begins, 0 for the begin of the file; `named` says
/// whether the first line of the file names the columns.
pub(super) fn lines(file: &mut File, from: u64, named: bool) -> io::Result<Lines> {
    let mut found = Lines::default();
    let mut begin = from;
    if named {
        file.seek(SeekFrom::Start(0))?;
        found.head = first_line(file)?;
        begin = begin.max(found.head.len() as u64);
    }
    file.seek(SeekFrom::Start(begin))?;
    file.read_to_end(&mut found.body)?;
    let whole = found.body.iter().rposition(|byte| *byte == b'\n').map_or(0, |last| last + 1);
    let headed = !named || found.head.ends_with(b"\n");
    found.ended = headed && whole == found.body.len();
    found.body.truncate(if headed { whole } else { 0 });
    let mut at = begin;
    for line in found.body.split_inclusive(|byte| *byte == b'\n') {
        if !line.iter().all(u8::is_ascii_whitespace) {
            found.starts.push(at);
        }
        at += line.len() as u64;
    }
    Ok(found)
}

fn first_line(file: &mut File) -> io::Result<Vec<u8>> {
    let mut line = Vec::new();
    let mut block = [0; 4096];
    loop {
        let read = file.read(&mut block)?;
        let end = block[..read].iter().position(|byte| *byte == b'\n');
        line.extend_from_slice(&block[..end.map_or(read, |end| end + 1)]);
        if end.is_some() || read == 0 {
            return Ok(line);
        }
    }
}
