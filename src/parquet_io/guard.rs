//! Keeps a panic of a data library, on a file with wrong lengths, from ending the run.

use std::panic::{AssertUnwindSafe, catch_unwind};

/// A data library ended in a panic: a length in the file is wrong.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Panicked;

/// Runs a library's work. The libraries answer some corrupt lengths with a panic; here they are
/// one more bad file. Only for their work: a fault of this program must not pass for damage.
pub(crate) fn guarded<T>(work: impl FnOnce() -> T) -> Result<T, Panicked> {
    catch_unwind(AssertUnwindSafe(work)).map_err(|_| Panicked)
}
