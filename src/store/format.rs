//! The format of a measurements file, and where its metadata is.

/// The format this version writes, and the latest it reads.
pub const FORMAT: u32 = 1;
/// Under which key the file's metadata holds what concerns the whole file.
pub const KEY: &str = "teleassay.scorecard";
