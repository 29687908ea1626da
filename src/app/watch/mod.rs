//! `watch`: audits each episode as its file lands, while the scene is still set.
//!
//! [`Watch`] is driven from outside: it is handed what was seen of files and the time, and gives
//! what is new. [`Notices`] is where the system's own notices come from. What is waited for, and
//! for how long, is in `files`; what the last episodes show together in `recent`; what is kept on
//! disk in `kept`.

mod again;
mod enter;
mod files;
mod kept;
mod kept_files;
mod learning;
mod news;
mod notices;
mod recent;
mod report;
mod reread;
mod session;
mod take;

pub use news::News;
pub(crate) use notices::Notices;
#[cfg(feature = "internals")]
pub use recent::{Change, Last};
pub(crate) use report::Watched;
pub use session::{Watch, WatchRequest};
