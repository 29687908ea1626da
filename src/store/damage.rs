//! What can be wrong with the contents of a measurements file.

use crate::model::{brief, cut};

/// Characters of what a library says.
const MESSAGE: usize = 240;

/// What is wrong with the contents of a measurements file.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum Damage {
    /// A column is missing.
    #[error("it has no column \"{}\"", brief(.0))]
    NoColumn(String),
    /// A column holds something else.
    #[error("its column \"{}\" is of another type than a measurements file's", brief(.0))]
    OtherType(String),
    /// A block does not match its sum.
    #[error("the bytes of its block {0} are not those that were written")]
    Changed(usize),
    /// The data library gave up on a page.
    #[error("a length in it is wrong")]
    Length,
    /// What stands at the end of the file cannot be read, or cannot be.
    #[error("its footer is damaged ({})", plain(.0))]
    Footer(String),
    /// A sketch of another rig.
    #[error("a sketch does not fit the joints")]
    Sketch,
    /// The metadata is not what this format says.
    #[error("what it says of the rig is wrong: {}", plain(.0))]
    Header(serde_json::Error),
    /// The metadata says of the rig what cannot be.
    #[error("what it says of the rig cannot be: {0}")]
    Rig(String),
    /// The sums are not what this format says.
    #[error("{}", plain(.0))]
    Sums(serde_json::Error),
    /// The system could not read it.
    #[error(transparent)]
    Io(#[from] std::io::Error),
    /// The data library could not read it.
    #[error("{}", plain(.0))]
    Parquet(#[from] parquet::errors::ParquetError),
    /// The data library could not decode it.
    #[error("{}", plain(.0))]
    Arrow(#[from] arrow::error::ArrowError),
}

/// A library's message in one line, without the library's name.
fn plain(error: &impl ToString) -> String {
    let text = error.to_string().replace('\n', " ");
    cut(text.trim_start_matches("Parquet error: ").trim(), MESSAGE).into_owned()
}
