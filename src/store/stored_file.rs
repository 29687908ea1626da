//! One measurements file, opened.

use std::collections::HashSet;
use std::path::PathBuf;

use parquet::arrow::arrow_reader::ArrowReaderMetadata;

use super::header::Header;
use super::layout::Slot;
use super::sum::Sum;

/// One measurements file.
#[derive(Debug)]
pub(super) struct StoredFile {
    pub path: PathBuf,
    pub footer: ArrowReaderMetadata,
    pub header: Header,
    /// Sums of its blocks; none if another program wrote it again.
    pub sums: Option<Vec<Sum>>,
    pub joints: Vec<String>,
    /// Names of the labels that each episode has.
    pub labels: Vec<String>,
    /// Readings by the number of their column in the file.
    pub slots: Vec<(usize, Slot)>,
    /// Checks with a column for everything they measure now.
    pub measured: HashSet<&'static str>,
    /// What is added to the numbers of its inputs and episodes: those of the files before it.
    pub inputs_before: u32,
    pub episodes_before: u64,
}
