//! What can be wrong with a profile.

use thiserror::Error;

/// Why a profile was refused: the file, the line, what is wrong there, and what to do about it.
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
        /// What to do about it.
        hint: Option<String>,
    },
}

impl ProfileError {
    /// What to do about it.
    pub fn hint(&self) -> Option<&str> {
        match self {
            Self::Unreadable { .. } => {
                Some("`teleassay columns PATH --write FILE` writes a profile")
            }
            Self::Wrong { hint, .. } => hint.as_deref(),
        }
    }
}
