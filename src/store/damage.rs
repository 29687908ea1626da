//! What can be wrong with the contents of a measurements file.

/// What is wrong with the contents of a measurements file.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum Damage {
    /// A column is missing.
    #[error("it has no column \"{0}\"")]
    NoColumn(String),
    /// A column holds something else.
    #[error("its column \"{0}\" is of another type than a measurements file's")]
    OtherType(String),
    /// A block does not match its sum.
    #[error("the bytes of its block {0} are not those that were written")]
    Changed(usize),
    /// The data library gave up on a page.
    #[error("a length in it is wrong")]
    Length,
    /// The data library gave up on the end of the file.
    #[error("its footer is damaged")]
    Footer,
    /// A sketch of another rig.
    #[error("a sketch does not fit the joints")]
    Sketch,
    /// The metadata is not what this format says.
    #[error("what it says of the rig is wrong: {0}")]
    Header(serde_json::Error),
    /// The sums are not what this format says.
    #[error(transparent)]
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
    text.trim_start_matches("Parquet error: ").trim().to_owned()
}
