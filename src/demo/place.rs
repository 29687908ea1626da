//! The folder of a demo session: new, empty, or that of an earlier one.
//!
//! A person runs the same `demo` twice, so an earlier session may be written again; but a file that
//! the tool did not write, or that was changed since, is never replaced. The answer key therefore
//! lists every file of the session with a digest of its content. A folder that holds other files than
//! those, or holds them with other content, is refused as it is.

use std::ffi::OsStr;
use std::fs;
use std::path::{Path, PathBuf};

use serde::{Deserialize, Serialize};
use xxhash_rust::xxh3::xxh3_64;

use super::answers::ANSWERS_SCHEMA;
use super::error::DemoError;
use super::part::SUFFIX;

/// Name of the answer key.
pub(super) const ANSWERS: &str = "answers.json";
/// Name of the profile.
pub(super) const PROFILE: &str = "teleassay.toml";

/// A file as it was written.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub(super) struct FileStamp {
    /// Its name in the folder of the session.
    name: String,
    /// XXH3 of its content, in hexadecimal digits.
    xxh3: String,
}

impl FileStamp {
    /// The stamp of a file as it is now.
    pub fn of(path: &Path) -> Result<Self, DemoError> {
        let name = path.file_name().unwrap_or_default().to_string_lossy().into_owned();
        let bytes = fs::read(path).map_err(|e| DemoError::file(path, e))?;
        Ok(Self { name, xxh3: format!("{:016x}", xxh3_64(&bytes)) })
    }
}

/// What an answer key says of the session's files.
#[derive(Deserialize)]
struct Listed {
    schema: String,
    files: Vec<FileStamp>,
}

/// Makes the folder ready: it is there and empty afterwards. An earlier session is removed.
///
/// # Errors
/// If the folder holds anything else.
pub(super) fn prepare(dir: &Path) -> Result<(), DemoError> {
    fs::create_dir_all(dir).map_err(|e| DemoError::file(dir, e))?;
    let entries = fs::read_dir(dir).and_then(Iterator::collect::<Result<Vec<_>, _>>);
    let entries = entries.map_err(|e| DemoError::file(dir, e))?;
    let mut paths: Vec<PathBuf> = entries.iter().map(fs::DirEntry::path).collect();
    paths.sort();
    let foreign = |path: &Path| DemoError::NotEmpty { dir: dir.into(), file: path.into() };
    let listed = listed(&dir.join(ANSWERS)).unwrap_or_default();
    for path in &paths {
        let made_here = path.file_name() == Some(OsStr::new(ANSWERS)) && !listed.is_empty();
        // A link is not what was written, even where it leads to the same content.
        let is_file = path.symlink_metadata().is_ok_and(|known| known.is_file());
        if is_file && is_part(path) {
            continue;
        }
        if !is_file || !(made_here || listed.contains(&FileStamp::of(path)?)) {
            return Err(foreign(path));
        }
    }
    // The answer key goes last: if this is interrupted, the rest is still known as the tool's own.
    paths.sort_by_key(|path| path.file_name() == Some(OsStr::new(ANSWERS)));
    paths.iter().try_for_each(|path| fs::remove_file(path).map_err(|e| DemoError::file(path, e)))
}

/// Whether a file is what is left of one that was being made when the process was ended.
fn is_part(path: &Path) -> bool {
    let name = path.file_name().unwrap_or_default().as_encoded_bytes();
    let begins: [&[u8]; 4] = [b".part-", b".episode-", b".teleassay.toml", b".answers.json"];
    name.ends_with(SUFFIX.as_bytes()) && begins.iter().any(|begin| name.starts_with(begin))
}

/// The files of an earlier session, if this is its answer key.
fn listed(key: &Path) -> Option<Vec<FileStamp>> {
    let listed: Listed = serde_json::from_slice(&fs::read(key).ok()?).ok()?;
    (listed.schema == ANSWERS_SCHEMA).then_some(listed.files)
}
