//! What formats keep of the last few files that several shards share. A file of many row groups
//! then is not parsed again for each. Never of all files: there may be a million.

use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::{Mutex, PoisonError};

use crate::source::format::table::{Kept, Table};

/// How many are kept.
const MOST: usize = 8;

/// Bytes of rows that are held of files that are parsed whole.
const HELD: u64 = 256 << 20;

/// Counts what is held of files that are parsed whole: to find their rows again is to parse them again.
#[derive(Debug, Default)]
pub(in crate::source) struct Held(AtomicU64);

impl Held {
    /// Keeps the rows of a table that was parsed whole: of one, however large, and of more while there is
    /// room.
    pub fn keep(&self, table: &dyn Table) -> Option<Kept> {
        let bytes = table.held()?;
        let before = self.0.fetch_add(bytes, Ordering::Relaxed);
        if before == 0 || before + bytes <= HELD {
            return table.keep();
        }
        self.0.fetch_sub(bytes, Ordering::Relaxed);
        None
    }
}

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
