//! A file of a session that is being made: under a hidden name until it is whole, so that whoever looks
//! into the folder, or goes on after the process was ended, finds no half of it.

use std::fs::{File, OpenOptions};
use std::io::Write as _;
use std::path::{Path, PathBuf};

use tempfile::NamedTempFile;

use super::error::DemoError;

/// How hidden names end.
pub(super) const SUFFIX: &str = ".part";

/// Removed when it is dropped before it is kept.
#[derive(Debug)]
pub(super) struct Part {
    path: PathBuf,
    made: NamedTempFile,
}

impl Part {
    /// Begins a file; gives what to write to.
    pub fn begin(path: &Path) -> Result<(Self, File), DemoError> {
        let refused = |e| DemoError::file(path, e);
        let folder = path.parent().unwrap_or(Path::new("."));
        let mut prefix = std::ffi::OsString::from(".");
        prefix.push(path.file_name().unwrap_or_default());
        let made = tempfile::Builder::new().prefix(&prefix).suffix(SUFFIX).make_in(
            folder,
            // Unlike the files of `tempfile` itself, open to others as any new file is.
            |part| OpenOptions::new().write(true).create_new(true).open(part),
        );
        let made = made.map_err(refused)?;
        let file = made.as_file().try_clone().map_err(refused)?;
        Ok((Self { path: path.to_owned(), made }, file))
    }

    /// It is whole: gives it its name, which no other file may have.
    pub fn keep(self) -> Result<(), DemoError> {
        let kept = self.made.persist_noclobber(&self.path);
        kept.map(drop).map_err(|e| DemoError::file(&self.path, e.error))
    }

    /// Writes a small file.
    pub fn whole(path: &Path, text: &str) -> Result<(), DemoError> {
        let (part, mut file) = Self::begin(path)?;
        file.write_all(text.as_bytes()).map_err(|e| DemoError::file(path, e))?;
        part.keep()
    }
}
