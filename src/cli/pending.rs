//! A file that is written while the data is measured.

use std::fs::File;
use std::io::{self, BufWriter, Write};
use std::path::{Path, PathBuf};

use super::error::CliError;

/// A file that is written over minutes: under a name of its own until it is whole, so that what
/// ends the run spoils nothing.
#[derive(Debug)]
pub struct Pending {
    path: PathBuf,
    part: PathBuf,
    file: Option<BufWriter<File>>,
    whole: bool,
}

impl Pending {
    /// Begins a file that will be called `path`.
    pub fn new(path: &Path) -> Result<Self, CliError> {
        let mut part = path.as_os_str().to_owned();
        part.push(".part");
        let part = PathBuf::from(part);
        let file = File::create(&part).map_err(|error| CliError::write(path, &error))?;
        let file = Some(BufWriter::with_capacity(1 << 16, file));
        Ok(Self { path: path.to_owned(), part, file, whole: false })
    }

    /// What to write to; a second call gives nothing to write to.
    pub fn take(&mut self) -> Box<dyn Write + Send> {
        match self.file.take() {
            Some(file) => Box::new(file),
            None => Box::new(io::sink()),
        }
    }

    /// The file is whole: gives it its name.
    pub fn keep(mut self) -> Result<(), CliError> {
        let named = std::fs::rename(&self.part, &self.path);
        named.map_err(|error| CliError::write(&self.path, &error))?;
        self.whole = true;
        Ok(())
    }
}

impl Drop for Pending {
    fn drop(&mut self) {
        if !self.whole {
            // What is left of it is of no use; whether it can be taken away changes nothing.
            let _ = std::fs::remove_file(&self.part);
        }
    }
}
