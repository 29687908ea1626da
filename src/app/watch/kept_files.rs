//! Files of which episodes were judged. A day of recording has many thousands: each takes a few dozen
//! bytes, and what few of them have is apart.

use std::collections::HashMap;
use std::path::{Path, PathBuf};

use super::files::number;
use super::take::Grown;
use crate::model::Unread;
use crate::source::Seen;

/// A file of which episodes were judged.
#[derive(Debug, Clone)]
pub(super) struct KeptFile {
    /// Below the folder.
    below: Box<Path>,
    pub bytes: u64,
    pub rows: u64,
    rare: Option<Box<Rare>>,
}

/// What few files have.
#[derive(Debug, Clone)]
struct Rare {
    grown: Option<Grown>,
    unread: Vec<Unread>,
}

impl KeptFile {
    /// How far it was taken, while it may grow.
    pub fn grown(&self) -> Option<&Grown> {
        self.rare.as_ref()?.grown.as_ref()
    }

    /// What of it could not be read.
    pub fn unread(&self) -> &[Unread] {
        self.rare.as_ref().map_or(&[], |rare| &rare.unread)
    }

    fn set(&mut self, grown: Option<Grown>, unread: Vec<Unread>) {
        let rare = grown.is_some() || !unread.is_empty();
        self.rare = rare.then(|| Box::new(Rare { grown, unread }));
    }
}

/// The files by their numbers. Paths and states of files are looked up by a number that stands for them.
#[derive(Debug, Clone)]
pub(super) struct KeptFiles {
    folder: PathBuf,
    all: Vec<KeptFile>,
    places: HashMap<u64, u32>,
    /// By what tells a file from others, to know one that was renamed.
    as_seen: HashMap<u64, u32>,
}

impl KeptFiles {
    /// None yet, of a folder.
    pub fn new(folder: &Path) -> Self {
        let (folder, all) = (folder.to_owned(), Vec::new());
        Self { folder, all, places: HashMap::new(), as_seen: HashMap::new() }
    }

    /// All by number.
    pub fn all(&self) -> &[KeptFile] {
        &self.all
    }

    /// Adds one, or takes the known one of this path as it is now.
    pub fn put(&mut self, path: &Path, bytes: u64, rows: u64) -> u32 {
        let at = self.place(path).unwrap_or_else(|| {
            let below = self.below(path).into();
            self.all.push(KeptFile { below, bytes, rows, rare: None });
            let at = self.all.len() as u32 - 1;
            self.places.insert(number(path), at);
            at
        });
        let file = &mut self.all[at as usize];
        (file.bytes, file.rows) = (bytes, rows);
        at
    }

    /// What a file of this number has that few have.
    pub fn set(&mut self, at: u32, grown: Option<Grown>, unread: Vec<Unread>) {
        if let Some(file) = self.all.get_mut(at as usize) {
            file.set(grown, unread);
        }
    }

    /// The number of a file.
    pub fn place(&self, path: &Path) -> Option<u32> {
        let at = *self.places.get(&number(path))?;
        (*self.all[at as usize].below == *self.below(path)).then_some(at)
    }

    /// The file of this path.
    pub fn find(&self, path: &Path) -> Option<&KeptFile> {
        self.all.get(self.place(path)? as usize)
    }

    /// The path of a file.
    pub fn path(&self, file: &KeptFile) -> PathBuf {
        self.folder.join(&file.below)
    }

    /// A file is known by what was seen of it, whatever its name will be.
    pub fn seen(&mut self, at: u32, seen: Seen) {
        self.as_seen.insert(number(&seen), at);
    }

    /// Whether it is a file that was judged under another name: then it has this one from now on.
    pub fn was_moved(&mut self, path: &Path, seen: Seen) -> bool {
        let known = self.as_seen.get(&number(&seen)).filter(|_| seen.node != 0);
        let Some(at) = known.copied() else { return false };
        let before = self.path(&self.all[at as usize]);
        let moved = before != path && !before.exists();
        if moved {
            self.places.remove(&number(before.as_path()));
            self.places.insert(number(path), at);
            self.all[at as usize].below = self.below(path).into();
        }
        moved
    }

    fn below<'a>(&self, path: &'a Path) -> &'a Path {
        path.strip_prefix(&self.folder).unwrap_or(path)
    }
}

/// Ids of episodes, one behind the other.
#[derive(Debug, Default)]
pub(super) struct Ids {
    text: String,
    ends: Vec<usize>,
}

impl Ids {
    /// Adds one and gives its number.
    pub fn push(&mut self, id: &str) -> u32 {
        self.text.push_str(id);
        self.ends.push(self.text.len());
        self.ends.len() as u32 - 1
    }

    /// The id of a number.
    pub fn get(&self, at: u32) -> &str {
        let at = at as usize;
        let from = at.checked_sub(1).map_or(0, |before| self.ends[before]);
        &self.text[from..self.ends[at]]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_file_is_found_by_its_path_and_a_renamed_one_by_what_was_seen() -> std::io::Result<()> {
        let folder = tempfile::tempdir()?;
        let (first, second) = (folder.path().join("a/1.parquet"), Path::new("/other/2.parquet"));
        let mut files = KeptFiles::new(folder.path());
        assert_eq!((files.put(&first, 5, 7), files.put(second, 6, 8)), (0, 1));
        assert_eq!((files.put(&first, 9, 7), files.place(second)), (0, Some(1)));
        let paths: Vec<PathBuf> = files.all().iter().map(|file| files.path(file)).collect();
        assert_eq!(paths, [first.clone(), second.to_owned()]);
        assert_eq!(files.find(&first).map(|file| (file.bytes, file.rows)), Some((9, 7)));
        let seen = Seen { bytes: 9, changed_ns: 1, node: 77 };
        files.seen(0, seen);
        let new = folder.path().join("1.parquet");
        assert!(!files.was_moved(&new, Seen { bytes: 10, ..seen }));
        assert!(files.was_moved(&new, seen));
        assert_eq!((files.place(&new), files.place(&first)), (Some(0), None));
        Ok(())
    }

    #[test]
    fn ids_come_back_by_their_numbers() {
        let mut ids = Ids::default();
        let all = ["17", "", "run-18", "19"];
        let numbers: Vec<u32> = all.iter().map(|id| ids.push(id)).collect();
        assert_eq!(numbers.iter().map(|at| ids.get(*at)).collect::<Vec<_>>(), all);
    }
}
