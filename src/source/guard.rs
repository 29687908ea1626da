//! Keeps a panic of a data library, on a file that lies about its lengths, from ending the run.

use std::panic::{AssertUnwindSafe, catch_unwind};

use super::parquet::DAMAGED;

/// The libraries answer some corrupt lengths with a panic; here they are one more bad file. Only
/// for their work: a fault of our own must not pass for damage.
pub(super) fn guarded<T>(work: impl FnOnce() -> T) -> Result<T, String> {
    catch_unwind(AssertUnwindSafe(work)).map_err(|_| format!("a length in it is wrong: {DAMAGED}"))
}
