//! Files are there whole or not at all: written next to their place under another name, then
//! renamed.

use std::ffi::OsString;
use std::fs::{self, File, OpenOptions};
use std::io::{self, BufWriter, Write};
use std::path::{Path, PathBuf};

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

/// A file that is being written: taken away again when this is dropped before it is kept.
#[derive(Debug)]
pub struct Pending {
    path: PathBuf,
    place: Place,
    kept: bool,
    // Dropped last: up to then a signal only leaves word.
    _writing: Writing,
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
        Ok((Self { path: path.to_owned(), place, kept: false, _writing: writing }, out))
    }

    /// What to say of writing that ended early: nothing where the person asked for that.
    #[expect(clippy::unused_self, reason = "only a file that is being written can have failed")]
    pub fn failed(&self, error: CliError) -> CliError {
        if interrupt::came() { CliError::interrupted() } else { error }
    }

    /// The file is whole and closed: gives it its name.
    pub fn keep(mut self) -> Result<(), CliError> {
        if interrupt::came() {
            return Err(CliError::interrupted());
        }
        self.place.keep().map_err(|error| CliError::write(&self.path, &error))?;
        self.kept = true;
        Ok(())
    }
}

impl Drop for Pending {
    fn drop(&mut self) {
        if !self.kept {
            self.place.discard();
        }
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

/// Where a file goes, and the name under which it is written.
#[derive(Debug)]
enum Place {
    /// A device, a pipe, or a file in a folder that takes no new names: written as it stands.
    Itself(PathBuf),
    /// Renamed from the second to the first when it is whole.
    Renamed(PathBuf, PathBuf),
}

impl Place {
    fn of(path: &Path) -> io::Result<Self> {
        // The file behind a link is replaced, not the link.
        let path = path.canonicalize().unwrap_or_else(|_| path.to_path_buf());
        if let Ok(known) = path.metadata() {
            if !known.is_file() {
                return Ok(Self::Itself(path));
            }
            // What may not be written to may not be replaced either.
            OpenOptions::new().write(true).open(&path)?;
        }
        let name = path.file_name().ok_or_else(|| io::Error::other("it has no name"))?;
        let mut part = OsString::from(".");
        part.push(name);
        part.push(format!(".{}.part", std::process::id()));
        let part = path.with_file_name(part);
        match File::create(&part) {
            Ok(_) => Ok(Self::Renamed(path, part)),
            Err(e) if e.kind() == io::ErrorKind::PermissionDenied && path.exists() => {
                Ok(Self::Itself(path))
            }
            Err(e) => Err(e),
        }
    }

    fn open(&self) -> io::Result<File> {
        match self {
            Self::Itself(path) | Self::Renamed(_, path) => File::create(path),
        }
    }

    fn keep(&self) -> io::Result<()> {
        let Self::Renamed(path, part) = self else { return Ok(()) };
        if let Ok(known) = path.metadata() {
            fs::set_permissions(part, known.permissions())?;
        }
        fs::rename(part, path)
    }

    fn discard(&self) {
        if let Self::Renamed(_, part) = self {
            // Nothing more can be done about a file that does not go away.
            let _ = fs::remove_file(part);
        }
    }
}
