//! The first stage: the files are found.

use std::path::PathBuf;

use crate::source::discover::find::{Found, find};
use crate::source::error::SourceError;
use crate::source::read_error::NotRead;

/// The files of a dataset.
#[derive(Debug)]
pub(in crate::source) struct Located {
    pub files: Vec<PathBuf>,
    pub refused: Vec<NotRead>,
}

impl Located {
    /// Finds every table that the paths name.
    pub fn at(paths: &[String]) -> Result<Self, SourceError> {
        let Found { files, refused } = find(paths)?;
        Ok(Self { files, refused })
    }
}
