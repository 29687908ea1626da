//! What `scripts/test` makes ready: the Python environment and the real recordings.

use std::error::Error;
use std::path::PathBuf;

const WAY_OUT: &str = "run scripts/test once, which makes it ready, or see DEVELOPERS.md";

/// The cache folder of the scripts.
fn cache() -> PathBuf {
    std::env::var_os("TELEASSAY_CACHE").map_or_else(
        || PathBuf::from(std::env::var_os("HOME").unwrap_or_default()).join(".cache/teleassay"),
        PathBuf::from,
    )
}

/// The folder of the real recordings: `TELEASSAY_REAL`, else in the cache. Where it is not there
/// the test fails: a check that was not made must not look like one that passed.
pub fn real() -> Result<PathBuf, Box<dyn Error>> {
    let folder =
        std::env::var_os("TELEASSAY_REAL").map_or_else(|| cache().join("real"), PathBuf::from);
    if folder.join(".complete").is_file() {
        return Ok(folder);
    }
    Err(format!("no real recordings in {}: {WAY_OUT}", folder.display()).into())
}

/// The Python of the scripts: `TELEASSAY_PYTHON`, else in the cache.
pub fn python() -> Result<PathBuf, Box<dyn Error>> {
    if let Some(python) = std::env::var_os("TELEASSAY_PYTHON") {
        return Ok(python.into());
    }
    let made = |folder: &PathBuf| {
        let name = folder.file_name().unwrap_or_default().to_string_lossy().into_owned();
        name.starts_with("venv-") && folder.join(".complete").is_file()
    };
    let folders = std::fs::read_dir(cache())
        .map(|entries| entries.filter_map(|entry| Some(entry.ok()?.path())).filter(made).max());
    match folders {
        Ok(Some(folder)) => Ok(folder.join("bin/python")),
        _ => Err(format!("no Python environment in {}: {WAY_OUT}", cache().display()).into()),
    }
}
