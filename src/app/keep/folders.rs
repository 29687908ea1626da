//! The folder of a copy is none of the source, and the source lies not in it.

use std::path::{Path, PathBuf};

use crate::app::AppError;
use crate::source::copy::Staging;

/// Refuses a folder that is not empty, lies in the source, or holds it.
pub(super) fn check(source: &[PathBuf], to: &Path) -> Result<(), AppError> {
    Staging::check(to)?;
    let target = whole(to);
    for path in source {
        let Ok(own) = path.canonicalize() else { continue };
        let refused = |what: &str| {
            let text = format!("{} {what} {}", to.display(), path.display());
            Err(AppError::input(text).with_hint("name a folder next to the source"))
        };
        if own.is_dir() && target.starts_with(&own) {
            return refused("lies in the source");
        }
        if own.starts_with(&target) {
            return refused("holds the source");
        }
    }
    Ok(())
}

/// The path without links, also of a folder that is not there yet.
fn whole(path: &Path) -> PathBuf {
    let path = std::path::absolute(path).unwrap_or_else(|_| path.to_path_buf());
    let mut known = path.as_path();
    let mut rest = Vec::new();
    loop {
        if let Ok(real) = known.canonicalize() {
            return rest.iter().rev().fold(real, |path, name| path.join(name));
        }
        match (known.parent(), known.file_name()) {
            (Some(parent), Some(name)) => {
                rest.push(name.to_os_string());
                known = parent;
            }
            _ => return path,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn source_and_copy_lie_apart() -> std::io::Result<()> {
        let root = tempfile::tempdir()?;
        let source = root.path().join("nursery");
        std::fs::create_dir(&source)?;
        let of = |to: &Path| check(std::slice::from_ref(&source), to).map_err(|e| e.to_string());
        assert!(of(&root.path().join("clean")).is_ok());
        assert!(of(&source.join("a/clean")).is_err_and(|text| text.contains("lies in")));
        assert!(of(root.path()).is_err());
        assert!(of(&source).is_err_and(|text| text.contains("lies in")));
        Ok(())
    }
}
