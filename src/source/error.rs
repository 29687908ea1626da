//! Why a dataset could not be opened at all, each in one line with the way out.

use std::path::{Path, PathBuf};

/// Why a dataset could not be opened. A bad file among good ones is none of these: it is listed
/// by [`super::Source::unread`].
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum SourceError {
    /// There is nothing there to check.
    #[error("{path}: {what}")]
    NothingFound {
        /// The path (or paths) that was looked at.
        path: String,
        /// What was found instead of tables, and the way out.
        what: String,
    },
    /// No such file or folder.
    #[error("{}: no such file or folder; check the spelling, or quote a pattern", .0.display())]
    NoSuchPath(PathBuf),
    /// The path is there and cannot be looked into.
    #[error("{}: cannot be opened: {source}; check the permissions", path.display())]
    Unreachable {
        /// The path.
        path: PathBuf,
        /// What the system said.
        source: std::io::Error,
    },
    /// A URL.
    #[error("{0}: URLs are not read yet; copy the files to a local folder and name that")]
    Url(String),
    /// A pattern that cannot be understood.
    #[error("{pattern}: not a valid pattern: {why}")]
    Pattern {
        /// The pattern.
        pattern: String,
        /// What is wrong with it.
        why: String,
    },
    /// Not one file could be read; the first one's reason stands for all.
    #[error("{}", all_unread(*files, path, reason))]
    AllUnread {
        /// How many.
        files: usize,
        /// The first one.
        path: PathBuf,
        /// Why.
        reason: String,
    },
    /// A role that must be played has no column.
    #[error("{}: no column {looks_like}; columns: {seen}; {way_out}", path.display())]
    MissingRole {
        /// The file whose columns are shown.
        path: PathBuf,
        /// What was looked for.
        looks_like: &'static str,
        /// The columns that are there.
        seen: String,
        /// What to declare.
        way_out: String,
    },
    /// Two columns could play a role.
    #[error(
        "{}: both \"{first}\" and \"{second}\" could be the {role} column; decide in the \
         profile: [columns] {line}",
        path.display()
    )]
    TwoCandidates {
        /// The file whose columns were looked at.
        path: PathBuf,
        /// The role.
        role: &'static str,
        /// One candidate.
        first: String,
        /// Another.
        second: String,
        /// The line of the profile that decides.
        line: String,
    },
    /// A declared column is not there.
    #[error("{}: no column \"{column}\", which is declared as {role}; columns: {seen}", path.display())]
    NoSuchColumn {
        /// The file whose columns are shown.
        path: PathBuf,
        /// The role.
        role: &'static str,
        /// The column or pattern declared.
        column: String,
        /// The columns that are there.
        seen: String,
    },
    /// A declared column cannot play its role.
    #[error("{}: column \"{column}\" is {shape}; the {role} column must be {wanted}", path.display())]
    WrongShape {
        /// The file.
        path: PathBuf,
        /// The column.
        column: String,
        /// What it is.
        shape: String,
        /// The role.
        role: &'static str,
        /// What it must be.
        wanted: &'static str,
    },
    /// A URDF that cannot be used.
    #[error("{}: {what}; {way_out}", path.display())]
    Urdf {
        /// The file.
        path: PathBuf,
        /// What is wrong with it.
        what: String,
        /// The way out.
        way_out: &'static str,
    },
    /// A rig known from other data, which this data is not of.
    #[error("the data is not of the rig that is given: {0}; name a scorecard of the same rig")]
    OtherRig(String),
    /// As many joints declared as there are not.
    #[error(
        "the profile declares {declared} joints, \"{column}\" holds {found} values a row; \
         correct [[rig.joints]]"
    )]
    JointCount {
        /// Joints declared.
        declared: usize,
        /// The column that says otherwise.
        column: String,
        /// Values a row.
        found: usize,
    },
}

impl SourceError {
    /// Whether the trouble is that there was nothing to check, rather than how it was asked for.
    pub fn nothing_found(&self) -> bool {
        matches!(self, Self::NothingFound { .. })
    }
}

fn all_unread(files: usize, path: &Path, reason: &str) -> String {
    let one = format!("{}: {reason}", path.display());
    if files < 2 { one } else { format!("none of {files} files could be read; the first: {one}") }
}
