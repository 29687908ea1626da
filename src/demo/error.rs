//! What can go wrong while a demo session is made.

use std::path::PathBuf;

/// Why a demo session could not be made or written.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum DemoError {
    /// The recipe asks for something that the rig cannot do.
    #[error("recipe: {0}")]
    Recipe(String),
    /// A recipe file does not parse.
    #[error("recipe {path}: {reason}")]
    Parse {
        /// The recipe file.
        path: PathBuf,
        /// What the parser said.
        reason: String,
    },
    /// The folder holds what no demo wrote, or what was changed since.
    #[error("{dir} is not empty: {file} is not of an earlier demo, or was changed since")]
    NotEmpty {
        /// The folder.
        dir: PathBuf,
        /// The first such file.
        file: PathBuf,
    },
    /// A file could not be read or written.
    #[error("{path}: {source}")]
    File {
        /// The file.
        path: PathBuf,
        /// What the system said.
        source: std::io::Error,
    },
    /// The person asked for the end.
    #[error("interrupted")]
    Stopped,
    /// A table could not be encoded.
    #[error("{path}: {reason}")]
    Table {
        /// The file.
        path: PathBuf,
        /// What the encoder said.
        reason: String,
    },
}

impl DemoError {
    /// What to do about it.
    pub fn hint(&self) -> Option<&'static str> {
        match self {
            Self::NotEmpty { .. } => Some("name a new or an empty folder"),
            _ => None,
        }
    }

    /// Names the file at which the system refused.
    pub(super) fn file(path: &std::path::Path, source: std::io::Error) -> Self {
        Self::File { path: path.to_path_buf(), source }
    }

    /// Names the table that could not be encoded.
    pub(super) fn table(path: &std::path::Path, reason: &impl ToString) -> Self {
        Self::Table { path: path.to_path_buf(), reason: reason.to_string() }
    }
}
