//! An input file.

use std::path::PathBuf;

use serde::{Deserialize, Serialize};

use crate::model::as_text;

/// One input file.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Input {
    /// Path as it was found.
    #[serde(with = "as_text")]
    pub path: PathBuf,
    /// Size in bytes.
    pub bytes: u64,
    /// Number of rows.
    pub rows: u64,
    /// SHA-256 of its content, in hexadecimal, where it was asked for: see
    /// [`crate::source::Dataset::hashed`].
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sha256: Option<String>,
}
