//! The folder of a copy is there whole or not at all: it is written under a hidden name, made
//! durable, and renamed.

use std::fs::{self, File};
use std::io::{self, ErrorKind, Write as _};
use std::path::{Path, PathBuf};

use tempfile::TempDir;
use walkdir::WalkDir;

use crate::source::copy::error::CopyError;

/// A folder in the making; removed when this is dropped before it is finished.
#[derive(Debug)]
pub struct Staging {
    to: PathBuf,
    stage: TempDir,
    /// The folder is there already and cannot be replaced, so what is made lies within it.
    within: bool,
}

impl Staging {
    /// Begins a folder that is not there yet, or is empty.
    ///
    /// # Errors
    /// If it holds anything or cannot be made.
    pub fn begin(to: &Path) -> Result<Self, CopyError> {
        let known = Self::check(to)?;
        let write = |error: io::Error| CopyError::write(to, &error);
        let parent = to.parent().filter(|parent| !parent.as_os_str().is_empty());
        let parent = parent.unwrap_or(Path::new("."));
        fs::create_dir_all(parent).map_err(write)?;
        let named = to.file_name().is_some();
        let within = known && !(named && replaceable(to, parent).map_err(write)?);
        let mut prefix = std::ffi::OsString::from(".");
        prefix.push(to.file_name().unwrap_or_default());
        prefix.push(".");
        let mut builder = tempfile::Builder::new();
        builder.prefix(&prefix).suffix(".part");
        open_to_others(&mut builder);
        let stage = builder.tempdir_in(if within { to } else { parent }).map_err(write)?;
        Ok(Self { to: to.to_path_buf(), stage, within })
    }

    /// Whether the folder is there; refused if it holds anything or is none.
    ///
    /// # Errors
    /// If it cannot be written to.
    pub fn check(to: &Path) -> Result<bool, CopyError> {
        let folder = |what: &str, hint| {
            Err(CopyError::Folder { path: to.to_path_buf(), what: what.to_owned(), hint })
        };
        let another = "name a new folder: nothing is ever written over";
        match fs::read_dir(to) {
            Ok(mut entries) => match entries.next() {
                None => Ok(true),
                Some(_) => folder("is not empty", another),
            },
            Err(error) if error.kind() == ErrorKind::NotFound => Ok(false),
            Err(error) if error.kind() == ErrorKind::NotADirectory => {
                folder("is a file, or lies below one", another)
            }
            Err(error) => Err(CopyError::write(to, &error)),
        }
    }

    /// Where a file is made.
    pub(super) fn place(&self, relative: &Path) -> PathBuf {
        self.stage.path().join(relative)
    }

    /// Makes the folder in which a file is made.
    pub(super) fn make_folder_of(&self, relative: &Path) -> Result<(), CopyError> {
        let place = self.place(relative);
        let folder = place.parent().unwrap_or(Path::new("."));
        fs::create_dir_all(folder).map_err(|error| CopyError::write(folder, &error))
    }

    /// Writes a small file.
    ///
    /// # Errors
    /// If it cannot be written.
    pub fn write(&self, name: &str, bytes: &[u8]) -> Result<(), CopyError> {
        let place = self.place(Path::new(name));
        let written = File::create_new(&place).and_then(|mut file| {
            file.write_all(bytes)?;
            file.sync_all()
        });
        written.map_err(|error| CopyError::write(&place, &error))
    }

    /// All files are there: gives them their names. `last` is the file that says so, where the folder
    /// cannot be renamed as a whole.
    ///
    /// # Errors
    /// If they cannot be renamed.
    pub fn finish(self, last: &str) -> Result<(), CopyError> {
        let Self { to, stage, within } = self;
        let done = sync_folders(stage.path()).and_then(|()| {
            if within { each(stage.path(), &to, last) } else { replace(stage.path(), &to) }
        });
        done.map_err(|error| CopyError::write(&to, &error))?;
        if within {
            drop(stage);
        } else {
            // Its name is that of the copy now.
            let _ = stage.keep();
        }
        Ok(())
    }
}

/// Makes names durable; where the system has no such thing, nothing needs be done.
fn sync_folders(stage: &Path) -> io::Result<()> {
    for entry in WalkDir::new(stage).contents_first(true) {
        let entry = entry.map_err(io::Error::other)?;
        if entry.file_type().is_dir() {
            sync_folder(entry.path())?;
        }
    }
    Ok(())
}

#[cfg(unix)]
fn sync_folder(folder: &Path) -> io::Result<()> {
    File::open(folder)?.sync_all()
}

#[cfg(not(unix))]
fn sync_folder(_: &Path) -> io::Result<()> {
    Ok(())
}

fn replace(stage: &Path, to: &Path) -> io::Result<()> {
    if cfg!(windows) && to.is_dir() {
        fs::remove_dir(to)?;
    }
    fs::rename(stage, to)?;
    let parent = to.parent().filter(|parent| !parent.as_os_str().is_empty());
    sync_folder(parent.unwrap_or(Path::new(".")))
}

/// Renames one entry after the other.
fn each(stage: &Path, to: &Path, last: &str) -> io::Result<()> {
    let entries = fs::read_dir(stage)?.collect::<io::Result<Vec<_>>>()?;
    let mut names: Vec<_> = entries.iter().map(fs::DirEntry::file_name).collect();
    names.sort_by_key(|name| (name == last, name.clone()));
    for name in names {
        fs::rename(stage.join(&name), to.join(&name))?;
    }
    sync_folder(to)
}

/// Whether a folder that is there can be replaced by one next to it.
#[cfg(unix)]
fn replaceable(to: &Path, parent: &Path) -> io::Result<bool> {
    use std::os::unix::fs::MetadataExt as _;
    let link = to.symlink_metadata()?.file_type().is_symlink();
    Ok(!link && fs::metadata(to)?.dev() == fs::metadata(parent)?.dev())
}

#[cfg(not(unix))]
fn replaceable(to: &Path, _: &Path) -> io::Result<bool> {
    Ok(!to.symlink_metadata()?.file_type().is_symlink())
}

/// Unlike the folders of `tempfile` itself, as open as any new folder is.
#[cfg(unix)]
fn open_to_others(builder: &mut tempfile::Builder<'_, '_>) {
    use std::os::unix::fs::PermissionsExt as _;
    builder.permissions(fs::Permissions::from_mode(0o777));
}

#[cfg(not(unix))]
fn open_to_others(_: &mut tempfile::Builder<'_, '_>) {}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_folder_is_there_whole_or_not_at_all() -> Result<(), Box<dyn std::error::Error>> {
        let root = tempfile::tempdir()?;
        let to = root.path().join("a/clean");
        let staging = Staging::begin(&to)?;
        staging.make_folder_of(Path::new("day/x.parquet"))?;
        staging.write("changes.json", b"{}")?;
        assert!(!to.exists());
        drop(staging);
        assert_eq!(fs::read_dir(root.path().join("a"))?.count(), 0);
        // An empty folder is replaced, one that holds anything is not.
        fs::create_dir(&to)?;
        let staging = Staging::begin(&to)?;
        staging.write("changes.json", b"{}")?;
        staging.finish("changes.json")?;
        assert_eq!(fs::read(to.join("changes.json"))?, b"{}");
        assert_eq!(fs::read_dir(root.path().join("a"))?.count(), 1);
        assert!(Staging::begin(&to).is_err());
        assert!(Staging::begin(&to.join("changes.json/x")).is_err());
        Ok(())
    }

    #[cfg(unix)]
    #[test]
    fn a_folder_behind_a_link_is_filled() -> Result<(), Box<dyn std::error::Error>> {
        let root = tempfile::tempdir()?;
        let (real, link) = (root.path().join("real"), root.path().join("link"));
        fs::create_dir(&real)?;
        std::os::unix::fs::symlink(&real, &link)?;
        let staging = Staging::begin(&link)?;
        staging.write("changes.json", b"{}")?;
        staging.finish("changes.json")?;
        assert!(link.symlink_metadata()?.file_type().is_symlink());
        let names: Vec<_> =
            fs::read_dir(&real)?.map(|e| e.map(|e| e.file_name())).collect::<Result<_, _>>()?;
        assert_eq!(names, ["changes.json"]);
        Ok(())
    }
}
