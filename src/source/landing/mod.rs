//! Files that are being recorded: which lie in a folder, and what of each is whole by now.
//!
//! A file in one piece (Parquet, an IPC file) is whole once its end can be read. A file that grows
//! (an IPC stream, lines of text) has whole parts before that: they are copied, so that they are
//! read like any other file while the writer goes on.

mod lines;
mod names;
mod part;
mod scan;
mod stream;

pub use names::{IdsFrom, names};
pub use part::{Look, Mark, Part, look};
pub use scan::{Seen, Texts, is_recording, scan};
