//! What to keep, and what to change in it.

use std::num::NonZero;
use std::path::PathBuf;

use crate::app::{Choice, DataRequest};

/// A clean copy: which episodes, and what is changed in them.
#[derive(Debug, Clone, Default)]
pub struct KeepRequest {
    /// The dataset.
    pub data: DataRequest,
    /// Folder to write to: new or empty.
    pub to: PathBuf,
    /// Which checks run.
    pub checks: Choice,
    /// Which episodes are kept.
    pub select: Selection,
    /// What is changed.
    pub change: Changes,
    /// Whether nothing is written.
    pub dry_run: bool,
    /// Number of threads; by default one per core.
    pub threads: Option<NonZero<usize>>,
    /// The options as they were typed, for the record.
    pub options: Vec<String>,
}

/// Which verdicts are kept.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum KeepVerdict {
    /// Only episodes within all limits.
    Ok,
    /// Episodes that did not fail.
    Warn,
    /// All.
    Fail,
}

/// Which episodes are kept: all that is said must be true of them.
#[derive(Debug, Clone, Default)]
pub struct Selection {
    /// Episodes of this verdict and better. Where it is not said: those that did not fail, or all
    /// that `episodes` names.
    pub verdict: Option<KeepVerdict>,
    /// Ids, or files with them.
    pub episodes: Vec<String>,
    /// Ids to leave out, or files with them.
    pub leave_out: Vec<String>,
    /// Checks that must have found nothing.
    pub without: Vec<String>,
    /// Tasks.
    pub tasks: Vec<String>,
    /// A condition on the columns of the report.
    pub condition: Option<String>,
}

/// What is changed.
#[derive(Debug, Clone, Default)]
#[expect(clippy::struct_excessive_bools, reason = "each is asked for by itself")]
pub struct Changes {
    /// Still heads and tails are left out but for 0.3 s.
    pub trim_idle: bool,
    /// Spans to leave out: `ID:FROM-TO` in seconds from the episode's start, or files with them.
    pub trim: Vec<String>,
    /// Episodes are cut in two where the clock jumps.
    pub split: bool,
    /// Rows that were written twice are left out.
    pub drop_doubled: bool,
    /// Repairs by name.
    pub mend: Vec<String>,
    /// Ids and frame counters are numbered again.
    pub renumber: bool,
}
