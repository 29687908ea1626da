//! Files that could not be held against their bytes: another process reads them first, and its death is
//! an unread file.
//!
//! Who runs this library says how such a process is started; without one they are read as they are.

use std::path::Path;
use std::sync::OnceLock;

use crate::source::read_error::ReadError;

/// Reads a file elsewhere, and says how that ended.
pub type Elsewhere = fn(&Path) -> Result<(), String>;

static ELSEWHERE: OnceLock<Elsewhere> = OnceLock::new();

/// How a file is read elsewhere; said once, before the first file is opened.
pub fn read_elsewhere(how: Elsewhere) {
    let _ = ELSEWHERE.set(how);
}

/// Has a file read elsewhere.
pub(in crate::source) fn survives(path: &Path) -> Result<(), ReadError> {
    let Some(elsewhere) = ELSEWHERE.get() else { return Ok(()) };
    elsewhere(path).map_err(ReadError::Damaged)
}
