//! The only place where a number meets a limit.
//!
//! Layer 3: knows layers 0 to 2. Readings, a ledger and limits enter; findings, the session's
//! verdict and the digest that every report formats leave.

mod accepted;
mod action;
mod baseline;
mod causes;
mod cohort;
mod contact;
mod course;
mod digest;
mod evidence;
mod facts;
mod limits;
mod mend;
mod own;
mod pooled;
mod required;
mod rows;
mod session;
mod severity;
mod stretch;
mod suppress;
mod worst;

pub use accepted::accept;
pub use action::{LeaveOut, Recover};
pub use baseline::{Baseline, Beyond, Past, beyond};
pub use causes::{Affected, Cause, Extent};
pub use cohort::cohort;
pub use course::Course;
pub use digest::Digest;
pub use limits::Limits;
pub use mend::Mend;
pub use required::Requirement;
pub use rows::{Row, Shown};
pub use session::{Tally, session};
pub use severity::{findings, quiet};
pub use suppress::{cause_in_episode, suppress};
pub use worst::scaled;
