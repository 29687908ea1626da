//! Files are there whole or not at all: written next to their place under another name, then
//! renamed.

use std::fs::{self, File, OpenOptions};
use std::io::{self, BufWriter, Write};
use std::path::{Path, PathBuf};

use tempfile::NamedTempFile;

use super::error::CliError;
use super::interrupt::{self, Writing};

/// Writes a file whole, or says which could not be written.
pub fn to_file(
    path: &Path,
    write: impl FnOnce(&mut BufWriter<Part>) -> io::Result<()>,
) -> Result<(), CliError> {
    let (pending, mut out) = Pending::begin(path)?;
    let written = write(&mut out).and_then(|()| out.flush());
    written.map_err(|error| pending.failed(CliError::write(path, &error)))?;
    pending.keep()
}

/// A file that is being written: removed when this is dropped before it is kept.
#[derive(Debug)]
pub struct Pending {
    path: PathBuf,
    place: Place,
    // Dropped last: until then a signal is only noted.
    writing: Writing,
}

impl Pending {
    /// Begins a file; gives what to write to.
    pub fn begin(path: &Path) -> Result<(Self, BufWriter<Part>), CliError> {
        let writing = Writing::begin();
        let begun = Place::of(path).and_then(|place| {
            let file = place.open()?;
            Ok((place, BufWriter::with_capacity(1 << 16, Part(file))))
        });
        let (place, out) = begun.map_err(|error| CliError::write(path, &error))?;
        Ok((Self { path: path.to_owned(), place, writing }, out))
    }

    /// What to say of writing that ended early: nothing where the person asked for that.
    #[expect(clippy::unused_self, reason = "only a file that is being written can have failed")]
    pub fn failed(&self, error: CliError) -> CliError {
        if interrupt::came() { CliError::interrupted() } else { error }
    }

    /// The file is whole and closed: gives it its name.
    pub fn keep(self) -> Result<(), CliError> {
        if interrupt::came() {
            return Err(CliError::interrupted());
        }
        let Self { path, place, writing } = self;
        let kept = place.keep().map_err(|error| CliError::write(&path, &error));
        drop(writing);
        kept
    }
}

/// A file that is being written; it ends when the person asks for the end.
#[derive(Debug)]
pub struct Part(File);

impl Write for Part {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        unless_interrupted()?;
        self.0.write(bytes)
    }

    fn flush(&mut self) -> io::Result<()> {
        unless_interrupted()?;
        self.0.flush()
    }
}

fn unless_interrupted() -> io::Result<()> {
    if interrupt::came() { Err(io::Error::other("interrupted")) } else { Ok(()) }
}

/// Where a file goes.
#[derive(Debug)]
enum Place {
    /// A device, a pipe, or a file in a folder that takes no new names: written in place.
    Itself(PathBuf),
    /// Written under a name of its own, which becomes this one when the file is whole.
    Renamed(PathBuf, NamedTempFile),
}

impl Place {
    fn of(path: &Path) -> io::Result<Self> {
        // The file behind a link is replaced, not the link.
        let path = path.canonicalize().unwrap_or_else(|_| path.to_path_buf());
        let known = path.metadata().ok();
        if let Some(known) = &known {
            if !known.is_file() {
                return Ok(Self::Itself(path));
            }
            // What may not be written to may not be replaced either.
            OpenOptions::new().write(true).open(&path)?;
        }
        let name = path.file_name().ok_or_else(|| io::Error::other("it has no name"))?;
        let mut prefix = std::ffi::OsString::from(".");
        prefix.push(name);
        prefix.push(".");
        let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty());
        let part = tempfile::Builder::new().prefix(&prefix).suffix(".part").make_in(
            folder.unwrap_or(Path::new(".")),
            // Unlike the files of `tempfile` itself, open to others as any new file is.
            |part| OpenOptions::new().write(true).create_new(true).open(part),
        );
        match part {
            Ok(part) => Ok(Self::Renamed(path, part)),
            Err(error) if error.kind() == io::ErrorKind::PermissionDenied && known.is_some() => {
                Ok(Self::Itself(path))
            }
            Err(error) => Err(error),
        }
    }

    fn open(&self) -> io::Result<File> {
        match self {
            Self::Itself(path) => File::create(path),
            Self::Renamed(_, part) => part.as_file().try_clone(),
        }
    }

    fn keep(self) -> io::Result<()> {
        let Self::Renamed(path, part) = self else { return Ok(()) };
        if let Ok(known) = path.metadata() {
            fs::set_permissions(part.path(), known.permissions())?;
        }
        // What the new name shows after a loss of power is then what was written.
        part.as_file().sync_all()?;
        part.persist(path).map(drop).map_err(|error| error.error)
    }
}
