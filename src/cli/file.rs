//! Files are there whole or not at all: written beside their place under another name, then
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
    let writing = Writing::begin();
    let written = whole(path, write);
    drop(writing);
    if interrupt::came() {
        return Err(CliError::interrupted());
    }
    written.map_err(|error| CliError::write(path, &error))
}

fn whole(
    path: &Path,
    write: impl FnOnce(&mut BufWriter<Part>) -> io::Result<()>,
) -> io::Result<()> {
    let place = Place::of(path)?;
    let written = place.open().and_then(|file| {
        let mut out = BufWriter::with_capacity(1 << 16, Part(file));
        write(&mut out)?;
        out.flush()
    });
    let done = written.and_then(|()| place.keep());
    if done.is_err() {
        place.drop();
    }
    done
}

/// A file that is being written; it ends when the person asks for the end.
#[derive(Debug)]
pub struct Part(File);

impl Write for Part {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        if interrupt::came() {
            return Err(io::Error::other("interrupted"));
        }
        self.0.write(bytes)
    }

    fn flush(&mut self) -> io::Result<()> {
        self.0.flush()
    }
}

/// Where a file goes, and the name under which it is written.
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
        if interrupt::came() {
            return Err(io::Error::other("interrupted"));
        }
        if let Ok(known) = path.metadata() {
            fs::set_permissions(part, known.permissions())?;
        }
        fs::rename(part, path)
    }

    fn drop(&self) {
        if let Self::Renamed(_, part) = self {
            // Nothing more can be done about a file that does not go away.
            let _ = fs::remove_file(part);
        }
    }
}
