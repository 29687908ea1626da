//! From a file, or its text, to a profile.

use std::path::{Path, PathBuf};

use super::contents::Profile;
use super::error::ProfileError;
use super::file;
use super::place::Place;
use super::resolve;
use crate::model::CheckSpec;
use crate::source::text_file;

/// The name under which a profile is found next to the data or in a folder above.
pub const FILE_NAME: &str = "teleassay.toml";

impl Profile {
    /// Reads and checks a profile against the checks that exist.
    ///
    /// # Errors
    /// If the file cannot be read, is not TOML, or says something that does not exist.
    pub fn read(path: &Path, checks: &[&'static CheckSpec]) -> Result<Self, ProfileError> {
        let name = path.display().to_string();
        let text = text_file::text(path)
            .map_err(|source| ProfileError::Unreadable { file: name.clone(), source })?;
        Self::parse(&text, &name, checks)
    }

    /// Checks a profile's text; `name` is what errors call the file.
    ///
    /// # Errors
    /// If the text is not TOML, or says something that does not exist.
    pub fn parse(
        text: &str,
        name: &str,
        checks: &[&'static CheckSpec],
    ) -> Result<Self, ProfileError> {
        let file = file::parse(text, name)?;
        resolve::profile(file, &Place { name, text }, checks)
    }

    /// The nearest profile next to a path to data, or in a folder above it.
    pub fn find(data: &Path) -> Option<PathBuf> {
        // A glob names no file: start from the folder that is there.
        let start = data.ancestors().find(|p| p.exists() || p.as_os_str().is_empty())?;
        let start = if start.as_os_str().is_empty() { Path::new(".") } else { start };
        let full = start.canonicalize().ok()?;
        let above = full.ancestors().count().saturating_sub(1);
        // Kept in the words of the person who typed the path as long as it is next to the data.
        let folder = if full.is_dir() { start } else { start.parent()? };
        let folder = if folder.as_os_str().is_empty() { Path::new(".") } else { folder };
        let near = folder.join(FILE_NAME);
        if near.is_file() {
            return Some(near);
        }
        full.ancestors().skip(1).take(above).map(|p| p.join(FILE_NAME)).find(|p| p.is_file())
    }
}
