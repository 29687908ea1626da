//! The last few footers of files that several shards share, so that a file of many row groups
//! is not parsed again for each. Never those of all files: there may be a million.

use std::sync::{Mutex, PoisonError};

use super::parquet::Footer;

/// How many are kept.
const KEPT: usize = 8;

/// A handful of footers by number of file.
#[derive(Debug, Default)]
pub(super) struct Footers(Mutex<Vec<(usize, Footer)>>);

impl Footers {
    /// The footer of a file, if it is kept.
    pub fn get(&self, file: usize) -> Option<Footer> {
        let kept = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        kept.iter().find(|(number, _)| *number == file).map(|(_, footer)| footer.clone())
    }

    /// Keeps a footer; the oldest makes room.
    pub fn put(&self, file: usize, footer: &Footer) {
        let mut kept = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        if kept.iter().all(|(number, _)| *number != file) {
            if kept.len() == KEPT {
                kept.remove(0);
            }
            kept.push((file, footer.clone()));
        }
    }
}
