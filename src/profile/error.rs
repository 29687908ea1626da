//! What can be wrong with a profile.

use thiserror::Error;

/// Why a profile was refused: the file, the line, what is wrong there, and the way out.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum ProfileError {
    /// The file could not be read.
    #[error("profile {file} cannot be read: {source}")]
    Unreadable {
        /// The profile's path.
        file: String,
        /// What the system said.
        source: std::io::Error,
    },
    /// The text says something that cannot be.
    #[error("profile {file}, line {line}: {what}")]
    Wrong {
        /// The profile's path.
        file: String,
        /// Line, counted from 1.
        line: usize,
        /// What is wrong.
        what: String,
        /// The way out; may be empty.
        hint: String,
    },
}

impl ProfileError {
    /// The way out, for a line of its own; may be empty.
    pub fn hint(&self) -> &str {
        match self {
            Self::Unreadable { .. } => "`teleassay columns PATH --write FILE` writes a profile",
            Self::Wrong { hint, .. } => hint,
        }
    }
}
