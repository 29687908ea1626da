//! What a file may state, by the bytes that it has.
//!
//! A file is believed where its bytes can hold what it states. The bounds are far beyond any recording,
//! and keep what a damaged or made-up length can reserve within what its reader has.

use std::sync::atomic::{AtomicU64, Ordering};

/// Bytes that reading one file may take.
static MEMORY: AtomicU64 = AtomicU64::new(u64::MAX);

/// Rows, or values of one column, that any file may state.
const FREE: u64 = 1 << 20;
/// Beyond those, rows or values to a byte: an eighth of a bit for each row of all columns together.
/// The stamps of a regular clock take less; no position that moves does.
const PER_BYTE: u64 = 64;
/// Bytes of a page that any codec may state.
const FREE_PAGE: u64 = 8 << 20;
/// The largest page that is packed tighter than numbers and images are: writers make pages of a
/// megabyte.
const LARGEST_PAGE: u64 = 256 << 20;
/// How much tighter.
const PLAIN: u64 = 8;

/// Sets the bytes that reading one file may take; said once, before the first is opened.
pub fn set_memory(bytes: u64) {
    MEMORY.store(bytes, Ordering::Relaxed);
}

/// Bytes that reading one file may take.
pub fn memory() -> u64 {
    MEMORY.load(Ordering::Relaxed)
}

/// Whether a file of so many bytes can hold so many rows, or values of one column.
pub(crate) fn holds(bytes: u64, rows: u64) -> bool {
    rows <= FREE.saturating_add(bytes.saturating_mul(PER_BYTE))
}

/// Whether packed bytes can unpack to so many: `ratio` is what their codec gives at most.
pub(crate) fn unpacks(packed: u64, ratio: u64, unpacked: u64) -> bool {
    let most = FREE_PAGE.max(packed.saturating_mul(ratio));
    unpacked <= memory() && unpacked <= most.min(LARGEST_PAGE.max(packed.saturating_mul(PLAIN)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn recordings_are_held_and_claims_are_not() {
        // A day at 1 kHz in a byte a row; a thousand million rows in a kilobyte.
        assert!(holds(86_400_000, 86_400_000) && !holds(1000, 1_000_000_000));
        assert!(holds(u64::MAX, u64::MAX));
        assert!(unpacks(1 << 20, 4, 4 << 20) && !unpacks(100, 1000, 1 << 31));
        assert!(!unpacks(1 << 20, 1000, LARGEST_PAGE + 1) && unpacks(1 << 30, 1000, 1 << 30));
    }
}
