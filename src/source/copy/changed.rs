//! Which columns a change is about.

use crate::source::copy::edit::Edit;

/// Whether a change is about the column at a path, or one around it.
pub(super) fn changes(edit: &Edit, path: &[String]) -> bool {
    path.starts_with(edit.path())
}
