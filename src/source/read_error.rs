//! Why one file cannot be read.

use std::io;
use std::path::PathBuf;

use crate::model::{Unread, UnreadKind, brief, count, cut};
use crate::parquet_io::footer::Unbelievable;
use crate::parquet_io::guard::Panicked;

/// Characters of what a library says, and of all that is said of a file.
const MESSAGE: usize = 240;
const LINE: usize = 400;
/// What to do about a file that cannot be decoded.
const AGAIN: &str = "copy or record it again";

/// Why one file cannot be read. The text says what is wrong, [`ReadError::hint`] what to do.
#[derive(Debug, thiserror::Error)]
pub(in crate::source) enum ReadError {
    /// The system does not open it.
    #[error("cannot be opened: {0}")]
    Open(io::Error),
    /// The system opens it and does not read it.
    #[error("cannot be read: {0}")]
    Read(io::Error),
    /// A folder with the name of a table.
    #[error("is a folder")]
    Folder,
    /// A pipe, a socket or a device.
    #[error("is a pipe, a socket or a device, and no file")]
    NoFile,
    /// Another length or time of change than before.
    #[error("changed while it was being read")]
    Changed,
    /// No bytes.
    #[error("is empty: 0 bytes")]
    Empty,
    /// Tables without rows.
    #[error("holds no rows")]
    NoRows,
    /// More rows than can be counted.
    #[error("holds more than {} rows", u32::MAX)]
    TooManyRows,
    /// An episode that is too long for the memory that one file may take.
    #[error("holds an episode of {frames} rows, which takes {} MB of memory", bytes / 1_000_000)]
    Memory {
        /// Its rows.
        frames: u64,
        /// What they take.
        bytes: u64,
    },
    /// A known format that is not read.
    #[error("{what}")]
    Refused {
        /// What it is.
        what: &'static str,
        /// The hint.
        hint: Option<&'static str>,
    },
    /// No format at all.
    #[error("is no format that is read (it begins with \"{0}\"): convert it first")]
    Unknown(String),
    /// A file that this tool wrote.
    #[error("{0}")]
    Own(&'static str),
    /// A footer that the library refuses.
    #[error("the Parquet footer cannot be read ({0}): the file is cut short or not yet complete")]
    Footer(String),
    /// A file that is not what its own lengths and counts say.
    #[error("{0}: the file is damaged or cut short")]
    Damaged(String),
    /// What a library says of columns that it cannot decode.
    #[error("{0}")]
    Columns(String),
    /// No folder of the episode's key.
    #[error("lies in no folder named {}=…", brief(.0))]
    NoFolder(String),
    /// A column of the other files is missing.
    #[error("has no column \"{}\", which the other files have", brief(.0))]
    NoColumn(String),
    /// A column of a shape that cannot play its role.
    #[error("its column \"{}\" is {shape}, unlike the other files'", brief(column))]
    OtherShape {
        /// The column.
        column: String,
        /// What it is.
        shape: String,
    },
    /// A column that the other files have in another form.
    #[error("column \"{}\" is not as in the other files", brief(.0))]
    Unlike(String),
    /// A list with another number of values.
    #[error(
        "column \"{}\" holds {} a row, the other files hold {wanted}",
        brief(column),
        count(*found as usize, "value")
    )]
    OtherWidth {
        /// The column.
        column: String,
        /// Values a row.
        found: u32,
        /// Values a row of the other files.
        wanted: usize,
    },
    /// A folder that cannot be listed.
    #[error("cannot be looked into: {0}")]
    Folders(walkdir::Error),
    /// Rows that belong to no episode.
    #[error("{}", null_rows(*.0))]
    NullRows(u64),
    /// Batches without the episode column.
    #[error("the episode column is missing")]
    NoEpisodes,
    /// Episode ids that are neither numbers nor texts.
    #[error("episode ids: {0}")]
    Ids(String),
    /// Fewer rows than were counted.
    #[error("ends at row {at} of {rows}")]
    EndsEarly {
        /// Rows seen.
        at: u64,
        /// Rows counted.
        rows: u64,
    },
    /// Fewer rows than when the file was indexed.
    #[error("ends at row {at}, and had {rows}")]
    Shrunk {
        /// Rows seen.
        at: u64,
        /// Rows indexed.
        rows: u64,
    },
}

impl ReadError {
    /// What to do about it.
    pub fn hint(&self) -> Option<&'static str> {
        match self {
            Self::NoFile => Some("pipe it in: teleassay audit - <PIPE"),
            Self::Changed => Some("run again when it is complete"),
            Self::TooManyRows => Some("split it"),
            Self::Memory { .. } => Some("split it, or allow more with --max-memory"),
            Self::Refused { hint, .. } => *hint,
            Self::Footer(_) | Self::Damaged(_) => Some(AGAIN),
            Self::OtherWidth { .. } => Some("audit it by itself"),
            _ => None,
        }
    }

    /// What kind of trouble it is: a file with other columns can be read, and is not one of these.
    pub fn kind(&self) -> UnreadKind {
        match self {
            Self::NoColumn(_)
            | Self::OtherShape { .. }
            | Self::Unlike(_)
            | Self::OtherWidth { .. } => UnreadKind::DifferentColumns,
            _ => UnreadKind::Unreadable,
        }
    }

    /// What is wrong and what to do, in one line.
    pub fn line(&self) -> String {
        let what = self.to_string();
        let what = cut(&what, LINE);
        match self.hint() {
            Some(hint) => format!("{what}; {hint}"),
            None => what.into_owned(),
        }
    }

    /// A library's message about columns that it cannot decode.
    pub fn columns(error: &impl ToString) -> Self {
        Self::Columns(plain(&error.to_string()))
    }

    /// A part of the file that a library cannot decode.
    pub fn decoding(part: &str, error: &impl ToString) -> Self {
        Self::Damaged(format!("{part} cannot be decoded ({})", plain(&error.to_string())))
    }
}

/// A file that cannot be read, wholly or in part.
#[derive(Debug)]
pub(in crate::source) struct NotRead {
    pub path: PathBuf,
    pub error: ReadError,
}

impl From<NotRead> for Unread {
    fn from(file: NotRead) -> Self {
        Self { path: file.path, reason: file.error.line(), kind: file.error.kind() }
    }
}

fn null_rows(rows: u64) -> String {
    match rows {
        1 => "1 row has no episode id and is left out".to_owned(),
        many => format!("{many} rows have no episode id and are left out"),
    }
}

impl From<Unbelievable> for ReadError {
    fn from(why: Unbelievable) -> Self {
        match why {
            Unbelievable::Unreadable(what) => Self::Footer(plain(&what)),
            Unbelievable::Contradiction(what) => {
                Self::Damaged(format!("the Parquet footer cannot be believed ({what})"))
            }
        }
    }
}

impl From<Panicked> for ReadError {
    fn from(_: Panicked) -> Self {
        Self::Damaged("a length in it is wrong".to_owned())
    }
}

/// A library's message on one line, without its own prefix and trace.
pub(in crate::source) fn plain(text: &str) -> String {
    let mut text = text.split(", error_trace").next().unwrap_or(text);
    while let Some((head, rest)) = text.split_once(": ") {
        if !(head.contains("rror") || head == "EOF" || head.starts_with("Parquet")) {
            break;
        }
        text = rest;
    }
    let line = text.split_whitespace().collect::<Vec<_>>().join(" ");
    cut(&line, MESSAGE).into_owned()
}
