//! A sum over the bytes of each block: Parquet has none of its own, and a bit that fell over on a disk
//! must not become a reading.

use std::fs::File;
use std::io::{self, Read, Seek, SeekFrom, Write};
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

/// Whether a block's bytes are those that were written.
pub(super) fn holds(file: &mut File, sums: &[Sum], block: usize) -> io::Result<bool> {
    let Some((end, sum)) = sums.get(block) else { return Ok(false) };
    let start = block.checked_sub(1).map_or(0, |before| sums[before].0);
    file.seek(SeekFrom::Start(start))?;
    let mut bytes = Vec::new();
    file.take(end.saturating_sub(start)).read_to_end(&mut bytes)?;
    Ok(hex(xxh3_64(&bytes)) == *sum)
}

/// As text: JSON's numbers are too short for it in some readers.
fn hex(sum: u64) -> String {
    format!("{sum:016x}")
}
