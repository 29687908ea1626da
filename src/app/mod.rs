//! The application: each command of the tool as a function over a request.
//!
//! In: a request, which names files, checks and options, and a callback for progress. Out: what was
//! found, or an [`AppError`] with a hint. Nothing here prints, reads the environment, or ends the
//! process: the command line does that, and other callers need not.

mod audit;
mod baseline;
mod checks;
mod columns;
mod compare;
mod data;
mod demo;
mod error;
mod interrupted;
mod judge;
mod keep;
mod names;
mod required;
mod spare;
mod stated;
mod trace;
mod traces;
mod watch;

pub(crate) use audit::OpenAudit;
pub use audit::{AuditRequest, Audited, audit};
pub use checks::Choice;
pub(crate) use columns::profile_in_force;
pub use columns::{Columns, columns};
pub use compare::{CompareRequest, ComparedSessions, compare};
pub use data::DataRequest;
pub(crate) use data::{no_episode, profile_warnings};
pub use demo::{DemoFiles, DemoRequest, demo};
pub use error::{AppError, ErrorKind};
pub use judge::{JudgeRequest, Judged, judge};
pub use keep::{Changes, KeepRequest, KeepVerdict, Kept, Selection, keep};
pub(crate) use names::{all, named_by_words};
pub use required::Requires;
pub use stated::Stated;
pub use trace::{TraceRequest, TracedEpisode, trace};
pub(crate) use traces::traces;
#[cfg(feature = "internals")]
pub use watch::{Change, Last};
pub use watch::{News, Watch, WatchRequest};
pub(crate) use watch::{Notices, Watched};
