//! What lies in a folder that is being recorded into.

use std::fs::{self, Metadata};
use std::path::{Path, PathBuf};
use std::time::{Duration, SystemTime};

use crate::source::discover::find::{is_alone, is_table, walk};
use crate::source::discover::natural;
use crate::source::error::SourceError;

/// What tells a file from the same one at another time, and from another one of its name.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Seen {
    /// Size in bytes.
    pub bytes: u64,
    /// Time of the last change, in nanoseconds of the file system's clock.
    pub changed_ns: u128,
    /// Number of the file in its file system, which a new name does not change; 0 where there is
    /// none.
    pub node: u64,
}

impl Seen {
    /// Looks at a file; none where there is no file.
    pub fn of(path: &Path) -> Option<Self> {
        let meta = fs::metadata(path).ok().filter(Metadata::is_file)?;
        let changed = meta.modified().unwrap_or(SystemTime::UNIX_EPOCH);
        let changed_ns = changed.duration_since(SystemTime::UNIX_EPOCH).unwrap_or_default();
        Some(Self { bytes: meta.len(), changed_ns: changed_ns.as_nanos(), node: node(&meta) })
    }

    /// How long ago it changed. A clock that is ahead of this one says nothing: zero.
    pub fn age(&self) -> Duration {
        let now = SystemTime::now().duration_since(SystemTime::UNIX_EPOCH).unwrap_or_default();
        let age = now.as_nanos().saturating_sub(self.changed_ns);
        Duration::from_nanos(u64::try_from(age).unwrap_or(u64::MAX))
    }
}

#[cfg(unix)]
fn node(meta: &Metadata) -> u64 {
    std::os::unix::fs::MetadataExt::ino(meta)
}

#[cfg(not(unix))]
fn node(_: &Metadata) -> u64 {
    0
}

/// Whether text is a recording: next to other tables it is something else.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Texts {
    /// No other table lies there.
    Recordings,
    /// Notes, an export.
    Notes,
}

/// Every recording below a folder by its name, in natural order, and what text is there.
///
/// # Errors
/// If the folder is gone or cannot be looked into.
pub fn scan(folder: &Path) -> Result<(Vec<(PathBuf, Seen)>, Texts), SourceError> {
    let mut texts = Vec::new();
    let mut files = walk(folder, &mut Vec::new(), |file| {
        let table = is_table(file);
        if !table && is_alone(file) {
            texts.push(file.to_path_buf());
        }
        table
    })?;
    let kind = if files.is_empty() { Texts::Recordings } else { Texts::Notes };
    if kind == Texts::Recordings {
        files = texts;
    }
    files.sort_by_cached_key(|file| natural::key(file));
    // One that is gone by now is looked at no more.
    let seen = files.into_iter().filter_map(|file| Seen::of(&file).map(|seen| (file, seen)));
    Ok((seen.collect(), kind))
}

/// Whether a file below a folder has the name of a recording. Hidden names and names with a leading
/// `_` are bookkeeping of other tools, folders too.
pub fn is_recording(folder: &Path, file: &Path, texts: Texts) -> bool {
    let below = file.strip_prefix(folder).unwrap_or(file);
    let hidden = |name: &std::ffi::OsStr| matches!(name.as_encoded_bytes(), [b'.' | b'_', ..]);
    let named = is_table(file) || (texts == Texts::Recordings && is_alone(file));
    named && !below.iter().any(hidden)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn hidden_files_and_notes_are_no_recordings() {
        let folder = Path::new("/a/.hidden/run");
        let is = |name: &str, texts| is_recording(folder, &folder.join(name), texts);
        assert!(is("1.parquet", Texts::Notes) && is("deep/1.arrows", Texts::Notes));
        assert!(is("1.csv", Texts::Recordings) && !is("1.csv", Texts::Notes));
        for name in [".1.parquet", "_tmp/1.parquet", "1.parquet.tmp", "video.mp4"] {
            assert!(!is(name, Texts::Recordings), "{name}");
        }
    }

    #[test]
    fn a_folder_is_scanned_in_natural_order_and_text_gives_way() -> std::io::Result<()> {
        let folder = tempfile::tempdir()?;
        let names = || scan(folder.path()).map(|(files, texts)| (names_of(&files), texts)).ok();
        for name in ["run-10.csv", "run-9.csv", ".run-1.csv"] {
            fs::write(folder.path().join(name), "a\n")?;
        }
        let both = vec!["run-9.csv".to_owned(), "run-10.csv".to_owned()];
        assert_eq!(names(), Some((both, Texts::Recordings)));
        fs::write(folder.path().join("b.parquet"), "a")?;
        assert_eq!(names(), Some((vec!["b.parquet".to_owned()], Texts::Notes)));
        assert!(scan(&folder.path().join("none")).is_err());
        Ok(())
    }

    fn names_of(files: &[(PathBuf, Seen)]) -> Vec<String> {
        let name =
            |file: &Path| file.file_name().unwrap_or_default().to_string_lossy().into_owned();
        files.iter().map(|(file, _)| name(file)).collect()
    }
}
