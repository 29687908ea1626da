//! Files next to the tables: videos, notes, metadata. They are listed, and nothing else.

use std::collections::HashSet;
use std::path::{Path, PathBuf};

use walkdir::{DirEntry, WalkDir};

use crate::source::dataset::Dataset;
use crate::source::source_trait::Source as _;

/// A file that is no table of the dataset.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Neighbour {
    /// Where it is.
    pub path: PathBuf,
    /// The same below the folder that was named.
    pub within: PathBuf,
}

/// Every file in the folders that were named that is no table of the dataset. A file that was named
/// by itself has none.
pub fn neighbours(source: &Dataset, named: &[PathBuf]) -> Vec<Neighbour> {
    let tables: HashSet<&Path> = source.inputs().iter().map(|input| input.path.as_path()).collect();
    let hidden = |e: &DirEntry| matches!(e.file_name().as_encoded_bytes(), [b'.' | b'_', ..]);
    let mut found = Vec::new();
    for folder in named.iter().filter(|path| path.is_dir()) {
        let shown = |e: &DirEntry| e.depth() == 0 || !hidden(e);
        let all = WalkDir::new(folder).follow_links(true).into_iter().filter_entry(shown);
        let files = all.flatten().filter(|entry| entry.file_type().is_file());
        let others = files.filter(|entry| !tables.contains(entry.path()));
        found.extend(others.map(|entry| {
            let within = entry.path().strip_prefix(folder).unwrap_or(entry.path()).to_path_buf();
            Neighbour { path: entry.into_path(), within }
        }));
    }
    found.sort();
    found.dedup();
    found
}
