//! What is read is not overwritten: recordings, measurements files, profile, URDF.

use std::path::{Path, PathBuf};

use crate::app::AppError;
use crate::source::Input;

/// Refuses files to be written that are read as well, whatever name was given for them.
pub(super) fn spare(
    writes: &[PathBuf],
    recordings: &[Input],
    others: &[PathBuf],
) -> Result<(), AppError> {
    for path in writes {
        let Ok(out) = path.canonicalize() else { continue };
        let same = |input: &Path| input.canonicalize().is_ok_and(|input| input == out);
        let (what, kind) = if recordings.iter().any(|input| same(&input.path)) {
            ("one of the recordings", "recordings are")
        } else if others.iter().any(|other| same(other)) {
            ("one of the files that are read", "what is read is")
        } else {
            continue;
        };
        return Err(AppError::input(format!("{} is {what}", path.display()))
            .with_hint(format!("write to another file: {kind} never written over")));
    }
    Ok(())
}
