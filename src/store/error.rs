//! Why a scorecard could not be read or written: one line, the way out behind the semicolon.

use std::path::{Path, PathBuf};

use super::format::FORMAT;

/// Why a scorecard could not be read or written.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum StoreError {
    /// Not there, or not to be opened.
    #[error("{}: cannot be opened: {source}; check the name and the permissions", path.display())]
    Unreachable {
        /// The file.
        path: PathBuf,
        /// What the system said.
        source: std::io::Error,
    },
    /// A folder.
    #[error("{0}: is a folder, not a scorecard; name the scorecards: {0}/*.parquet", path.display())]
    Folder {
        /// The folder.
        path: PathBuf,
    },
    /// Cut short, overwritten, or no Parquet at all.
    #[error("{}: cannot be read as a scorecard ({what}); write it again: teleassay audit PATH \
             --out-scorecard FILE.parquet", path.display())]
    Damaged {
        /// The file.
        path: PathBuf,
        /// What is wrong.
        what: String,
    },
    /// Parquet of something else.
    #[error("{0}: is a Parquet table, but no scorecard; if it is a recording: teleassay audit {0} \
             --out-scorecard FILE.parquet", path.display())]
    Foreign {
        /// The file.
        path: PathBuf,
    },
    /// Written by a later version.
    #[error("{}: is of format {found} (written by version {version}), and this version reads up \
             to {FORMAT}; use that version, or audit the data again with this one", path.display())]
    Newer {
        /// The file.
        path: PathBuf,
        /// Its format.
        found: u32,
        /// The program's version that wrote it.
        version: String,
    },
    /// Two scorecards that are not parts of one dataset.
    #[error("{} and {} are not of one dataset: {what}; judge them one by one, or audit both with \
             the same profile", first.display(), other.display())]
    Disagree {
        /// The first scorecard.
        first: PathBuf,
        /// The one that differs.
        other: PathBuf,
        /// In what.
        what: String,
    },
    /// One episode in two scorecards.
    #[error("episode \"{id}\" of {from} is in {} as well as in {}; name each scorecard once, and \
             cut a dataset between episodes", first.display(), other.display())]
    Twice {
        /// The episode.
        id: String,
        /// The file it was read from.
        from: String,
        /// A scorecard that holds it.
        first: PathBuf,
        /// Another one.
        other: PathBuf,
    },
    /// The file could not be written.
    #[error("the scorecard cannot be written: {0}; check the folder and the space on the disk")]
    Unwritten(String),
    /// A reading that has no column: a fault of this program.
    #[error("no column for the reading {0}; please report it")]
    NoColumn(String),
}

impl StoreError {
    /// A file that cannot be read for what its reader said.
    pub(super) fn damaged(path: &Path, said: &impl ToString) -> Self {
        // What stands behind a semicolon is the way out.
        let said = said.to_string().replace(';', ",").replace('\n', " ");
        let what = said.trim_start_matches("Parquet error: ").trim().to_owned();
        Self::Damaged { path: path.to_owned(), what }
    }
}

impl From<parquet::errors::ParquetError> for StoreError {
    fn from(error: parquet::errors::ParquetError) -> Self {
        Self::Unwritten(error.to_string().replace(';', ","))
    }
}

impl From<arrow::error::ArrowError> for StoreError {
    fn from(error: arrow::error::ArrowError) -> Self {
        Self::Unwritten(error.to_string().replace(';', ","))
    }
}
