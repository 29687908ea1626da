//! A sum over the bytes of each block: Parquet has none of its own, and a bit that fell over on a disk
//! must not become a reading.

use std::io::{self, Write};
use std::ops::Range;
use std::sync::{Arc, Mutex, PoisonError};

use xxhash_rust::xxh3::{Xxh3, xxh3_64};

/// Under which key the file's metadata holds the sums.
pub(super) const SUMS: &str = "teleassay.sums";

/// One block: where its bytes end, and their hash. It begins where the one before it ends.
pub(super) type Sum = (u64, String);

/// Counts and hashes what is written through it.
#[derive(Debug, Clone, Default)]
pub(super) struct Tally(Arc<Mutex<State>>);

#[derive(Default)]
struct State {
    written: u64,
    hash: Xxh3,
    sums: Vec<Sum>,
}

impl Tally {
    /// Everything written since the last call is a block.
    pub fn block(&self) {
        let mut state = self.state();
        let sum = (state.written, hex(state.hash.digest()));
        state.sums.push(sum);
        state.hash.reset();
    }

    pub fn sums(&self) -> Vec<Sum> {
        self.state().sums.clone()
    }

    fn state(&self) -> std::sync::MutexGuard<'_, State> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

impl std::fmt::Debug for State {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("State").field("written", &self.written).finish_non_exhaustive()
    }
}

/// An output whose bytes are tallied.
pub(super) struct Tallied<W> {
    pub out: W,
    pub tally: Tally,
}

impl<W: Write> Write for Tallied<W> {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        let taken = self.out.write(bytes)?;
        let mut state = self.tally.state();
        state.written += taken as u64;
        state.hash.update(&bytes[..taken]);
        Ok(taken)
    }

    fn flush(&mut self) -> io::Result<()> {
        self.out.flush()
    }
}

/// Where a block's bytes stand.
pub(super) fn place(sums: &[Sum], block: usize) -> Option<Range<u64>> {
    let start = block.checked_sub(1).map_or(Some(0), |before| Some(sums.get(before)?.0))?;
    Some(start..sums.get(block)?.0).filter(|place| place.start <= place.end)
}

/// Whether a block's bytes are those that were written.
pub(super) fn holds(bytes: &[u8], sums: &[Sum], block: usize) -> bool {
    sums.get(block).is_some_and(|(_, sum)| hex(xxh3_64(bytes)) == *sum)
}

/// As text: JSON's numbers are too short for it in some readers.
fn hex(sum: u64) -> String {
    format!("{sum:016x}")
}
