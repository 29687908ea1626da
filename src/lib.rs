//! Quality auditor for teleoperation datasets.
//!
//! ```
//! use teleassay::{AuditRequest, DataRequest, DemoRequest, Verdict};
//! # fn main() -> Result<(), Box<dyn std::error::Error>> {
//! let dir = tempfile::tempdir()?;
//! teleassay::demo(&DemoRequest::new(dir.path()))?;
//!
//! let request = AuditRequest { data: DataRequest::new(dir.path()), ..Default::default() };
//! let audited = teleassay::audit(&request, &mut |_| ())?;
//! for (episode, verdict) in audited.episodes() {
//!     println!("{episode}: {verdict:?}");
//! }
//! assert_eq!(audited.verdict(), Verdict::Fail);
//! # Ok(())
//! # }
//! ```
//!
//! Each command of the tool is a function over a request. Errors say what is wrong and give a hint.
//! Nothing prints or reads the environment but the command line, which lies in this crate as well.
//!
//! Layers, lowest first: `num` (estimators), `parquet_io`
//! (bytes of Parquet files), `model` (nouns), `check`, `source` and `demo` (checks,
//! where episodes come from, a simulated rig), `judge`, `cohort`, `compare` and `store`, `profile`
//! and `report`, `engine` (the only threads), `app` (the functions below) and `cli`. A module names
//! only lower layers; a test enforces it. All of them are private, so that the compiler reports what
//! is unused; the feature `internals` opens them to the integration tests and the benchmarks.

// Written out instead of by a macro, in which rustfmt would not find the files.
#[cfg(not(feature = "internals"))]
mod app;
#[cfg(feature = "internals")]
pub mod app;
#[cfg(not(feature = "internals"))]
mod catalogue;
#[cfg(feature = "internals")]
pub mod catalogue;
#[cfg(not(feature = "internals"))]
mod check;
#[cfg(feature = "internals")]
pub mod check;
#[cfg(not(feature = "internals"))]
mod cohort;
#[cfg(feature = "internals")]
pub mod cohort;
#[cfg(not(feature = "internals"))]
mod compare;
#[cfg(feature = "internals")]
pub mod compare;
#[cfg(not(feature = "internals"))]
mod demo;
#[cfg(feature = "internals")]
pub mod demo;
#[cfg(not(feature = "internals"))]
mod engine;
#[cfg(feature = "internals")]
pub mod engine;
#[cfg(not(feature = "internals"))]
mod judge;
#[cfg(feature = "internals")]
pub mod judge;
#[cfg(not(feature = "internals"))]
mod model;
#[cfg(feature = "internals")]
pub mod model;
#[cfg(not(feature = "internals"))]
mod num;
#[cfg(feature = "internals")]
pub mod num;
mod parquet_io;
#[cfg(not(feature = "internals"))]
mod profile;
#[cfg(feature = "internals")]
pub mod profile;
#[cfg(not(feature = "internals"))]
mod report;
#[cfg(feature = "internals")]
pub mod report;
#[cfg(not(feature = "internals"))]
mod source;
#[cfg(feature = "internals")]
pub mod source;
#[cfg(not(feature = "internals"))]
mod store;
#[cfg(feature = "internals")]
pub mod store;

mod cli;

pub use app::{
    AppError, AuditRequest, Audited, Choice, Columns, CompareRequest, ComparedSessions,
    DataRequest, DemoFiles, DemoRequest, ErrorKind, JudgeRequest, Judged, Requires, Stated,
    TraceRequest, TracedEpisode, audit, columns, compare, demo, judge, trace,
};
pub use demo::Layout;
pub use model::{Progress, Verdict};
pub use report::JsonDetail;

#[doc(hidden)]
pub use cli::main as run_command;
