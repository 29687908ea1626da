//! Why a copy could not be made. Nothing that is half written is left behind.

use std::io;
use std::path::{Path, PathBuf};

use crate::parquet_io::guard::Panicked;
use crate::source::read_error::ReadError;

/// Why a copy could not be made.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum CopyError {
    /// An input file cannot be read.
    #[error("{}: {what}", path.display())]
    Read {
        /// The file.
        path: PathBuf,
        /// Why.
        what: String,
        /// What to do.
        hint: Option<&'static str>,
    },
    /// A file of the copy cannot be written.
    #[error("{}: cannot be written: {what}", path.display())]
    Write {
        /// The file.
        path: PathBuf,
        /// Why.
        what: String,
    },
    /// What is asked for cannot be done to this file.
    #[error("{}: {what}", path.display())]
    Refused {
        /// The file.
        path: PathBuf,
        /// Why.
        what: String,
        /// What to do.
        hint: &'static str,
    },
    /// The folder of the copy cannot be used.
    #[error("{}: {what}", path.display())]
    Folder {
        /// The folder.
        path: PathBuf,
        /// Why.
        what: String,
        /// What to do.
        hint: &'static str,
    },
    /// The person asked for the end.
    #[error("interrupted")]
    Stopped,
}

impl CopyError {
    /// What to do about it.
    pub fn hint(&self) -> Option<&'static str> {
        match self {
            Self::Read { hint, .. } => *hint,
            Self::Write { .. } => Some("nothing was changed: make room, or name another folder"),
            Self::Refused { hint, .. } | Self::Folder { hint, .. } => Some(hint),
            Self::Stopped => None,
        }
    }

    pub(super) fn write(path: &Path, error: &impl ToString) -> Self {
        Self::Write { path: path.to_path_buf(), what: error.to_string() }
    }
}

/// Why one table could not be copied, before it is known which side is to blame.
#[derive(Debug)]
pub(super) enum Trouble {
    /// On the side of the input.
    Read(ReadError),
    /// On the side of the copy.
    Write(String),
    /// What is asked for cannot be done.
    Refused(String, &'static str),
}

impl Trouble {
    /// The error, with the files that it is of.
    pub fn of(self, from: &Path, to: &Path) -> CopyError {
        match self {
            Self::Read(error) => CopyError::Read {
                path: from.to_path_buf(),
                what: error.to_string(),
                hint: error.hint(),
            },
            Self::Write(what) => CopyError::Write { path: to.to_path_buf(), what },
            Self::Refused(what, hint) => {
                CopyError::Refused { path: from.to_path_buf(), what, hint }
            }
        }
    }

    /// What a library says of writing.
    pub fn writing(error: &impl ToString) -> Self {
        Self::Write(crate::source::read_error::plain(&error.to_string()))
    }
}

impl From<ReadError> for Trouble {
    fn from(error: ReadError) -> Self {
        Self::Read(error)
    }
}

impl From<io::Error> for Trouble {
    fn from(error: io::Error) -> Self {
        Self::Write(error.to_string())
    }
}

impl From<Panicked> for Trouble {
    fn from(panicked: Panicked) -> Self {
        Self::Read(panicked.into())
    }
}
