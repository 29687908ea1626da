//! Why a measurements file could not be read or written, and what to do about it.

use std::path::{Path, PathBuf};

use super::damage::Damage;
use super::format::FORMAT;

/// Why a measurements file could not be read or written.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum StoreError {
    /// Not there, or not to be opened.
    #[error("{}: cannot be opened: {source}", path.display())]
    Unreachable {
        /// The file.
        path: PathBuf,
        /// What the system said.
        source: std::io::Error,
    },
    /// A folder.
    #[error("{}: is a folder, not a measurements file", path.display())]
    Folder {
        /// The folder.
        path: PathBuf,
    },
    /// Cut short, overwritten, or no Parquet at all.
    #[error("{}: cannot be read as a measurements file ({what})", path.display())]
    Damaged {
        /// The file.
        path: PathBuf,
        /// What is wrong.
        what: Damage,
    },
    /// Parquet of something else.
    #[error("{}: is a Parquet table, but not a measurements file", path.display())]
    Foreign {
        /// The file.
        path: PathBuf,
    },
    /// Written by a later version.
    #[error("{}: is of format {found} (written by version {version}), and this version reads up \
             to {FORMAT}", path.display())]
    Newer {
        /// The file.
        path: PathBuf,
        /// Its format.
        found: u32,
        /// The program's version that wrote it.
        version: String,
    },
    /// Two measurements files that are not parts of one dataset.
    #[error("{} and {} are not of one dataset: {what}", first.display(), other.display())]
    Disagree {
        /// The first measurements file.
        first: PathBuf,
        /// The one that differs.
        other: PathBuf,
        /// In what.
        what: String,
    },
    /// One episode in two measurements files.
    #[error("episode \"{id}\" of {from} is in {} as well as in {}", first.display(), other.display())]
    Twice {
        /// The episode.
        id: String,
        /// The file it was read from.
        from: String,
        /// A measurements file that holds it.
        first: PathBuf,
        /// Another one.
        other: PathBuf,
    },
    /// A measurements file of other checks than those that are to go on.
    #[error("{} was measured with other checks than are asked for now", path.display())]
    OtherChecks {
        /// The measurements file.
        path: PathBuf,
    },
    /// The file could not be written.
    #[error("{0}")]
    Unwritten(String),
    /// A reading that has no column: a fault of this program.
    #[error("no column for the reading {0}")]
    NoColumn(String),
}

impl StoreError {
    /// A file that cannot be read for what is wrong with its contents.
    pub(super) fn damaged(path: &Path, what: Damage) -> Self {
        Self::Damaged { path: path.to_owned(), what }
    }

    /// What to do about it.
    pub fn hint(&self) -> String {
        let fixed = match self {
            Self::Unreachable { .. } => "check the name and the permissions",
            Self::Folder { path } => {
                return format!("name the measurements files: {}/*.parquet", path.display());
            }
            Self::Damaged { .. } => {
                "write it again: teleassay audit PATH --out-measurements FILE.parquet"
            }
            Self::Foreign { path } => {
                return format!(
                    "if it is a recording: teleassay audit {} --out-measurements FILE.parquet",
                    path.display()
                );
            }
            Self::Newer { .. } => "use that version, or audit the data again with this one",
            Self::Disagree { .. } => "judge them one by one, or audit both with the same profile",
            Self::Twice { .. } => {
                "name each measurements file once, and cut a dataset between episodes"
            }
            Self::OtherChecks { .. } => {
                "go on with the options and the version that it was written with, or begin again \
                 without --resume"
            }
            Self::Unwritten(_) => "check the folder and the space on the disk",
            Self::NoColumn(_) => "please report it",
        };
        fixed.to_owned()
    }
}

impl From<parquet::errors::ParquetError> for StoreError {
    fn from(error: parquet::errors::ParquetError) -> Self {
        Self::Unwritten(error.to_string())
    }
}

impl From<arrow::error::ArrowError> for StoreError {
    fn from(error: arrow::error::ArrowError) -> Self {
        Self::Unwritten(error.to_string())
    }
}
