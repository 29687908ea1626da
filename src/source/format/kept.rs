//! What formats keep of the last few files that several shards share. A file of many row groups
//! then is not parsed again for each. Never of all files: there may be a million.

use std::sync::{Mutex, PoisonError};

use crate::source::format::table::{Kept, Table};

/// How many are kept.
const MOST: usize = 8;

/// What is kept, by number of the file.
#[derive(Debug, Default)]
pub(in crate::source) struct KeptFiles(Mutex<Vec<(usize, Kept)>>);

impl KeptFiles {
    /// What is kept of a file.
    pub fn get(&self, file: usize) -> Option<Kept> {
        let kept = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        kept.iter().find(|(number, _)| *number == file).map(|(_, kept)| kept.clone())
    }

    /// Keeps what a table offers; the oldest makes room.
    pub fn put(&self, file: usize, table: &dyn Table) {
        let mut kept = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        if kept.iter().any(|(number, _)| *number == file) {
            return;
        }
        let Some(new) = table.keep() else { return };
        if kept.len() == MOST {
            kept.remove(0);
        }
        kept.push((file, new));
    }
}
