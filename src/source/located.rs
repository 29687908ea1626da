//! The first stage: the files are found.

use std::path::{Path, PathBuf};

use crate::model::{OwnFile, Skipped};
use crate::source::discover::find::{Found, find};
use crate::source::error::SourceError;
use crate::source::read_error::{NotRead, ReadError};

/// What is known of the files that are not read, and of the paths that were named.
#[derive(Debug, Default)]
pub(in crate::source) struct Passed {
    pub refused: Vec<NotRead>,
    pub skipped: Skipped,
    /// Folders that were named, in order.
    pub roots: Vec<PathBuf>,
}

impl Passed {
    /// Notes a file that is not read: one of this tool's own is no trouble.
    pub fn note(&mut self, path: PathBuf, error: ReadError) {
        match error {
            ReadError::Own(_) => self.skipped.own.push(OwnFile(path)),
            error => self.refused.push(NotRead { path, error }),
        }
    }
}

/// The files of a dataset.
#[derive(Debug)]
pub(in crate::source) struct Located {
    pub files: Vec<PathBuf>,
    pub passed: Passed,
}

impl Located {
    /// Finds every table that the paths name.
    pub fn at<P: AsRef<Path>>(paths: &[P]) -> Result<Self, SourceError> {
        let Found { files, roots, refused, skipped } = find(paths)?;
        Ok(Self { files, passed: Passed { refused, skipped, roots } })
    }
}
