//! Why a dataset could not be opened at all, each in one line with a hint.

use std::path::{Path, PathBuf};

use crate::source::role::Role;

/// Why a dataset could not be opened. A bad file among good ones is none of these: it is listed
/// by [`crate::source::source_trait::Source::unread`].
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum SourceError {
    /// There is nothing there to check.
    #[error("{path}: {what}")]
    NothingFound {
        /// The path (or paths) that was looked at.
        path: String,
        /// What was found instead of tables.
        what: &'static str,
        /// The hint.
        hint: String,
    },
    /// No such file or folder.
    #[error("{}: no such file or folder", .0.display())]
    NoSuchPath(PathBuf),
    /// The path is there and cannot be looked into.
    #[error("{}: cannot be opened: {source}", path.display())]
    Unreachable {
        /// The path.
        path: PathBuf,
        /// What the system said.
        source: std::io::Error,
    },
    /// A URL.
    #[error("{0}: URLs are not read yet")]
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
        /// The hint, where there is one.
        hint: Option<String>,
    },
    /// A role that must be played has no column.
    #[error("{}: no column {looks_like}", path.display())]
    MissingRole {
        /// The file whose columns are shown.
        path: PathBuf,
        /// What was looked for.
        looks_like: &'static str,
        /// The columns that are there.
        seen: String,
        /// What to declare.
        hint: &'static str,
    },
    /// Two columns could play a role.
    #[error(
        "{}: both \"{first}\" and \"{second}\" could be the {role} column",
        path.display()
    )]
    TwoCandidates {
        /// The file whose columns were looked at.
        path: PathBuf,
        /// The role.
        role: Role,
        /// One candidate.
        first: String,
        /// Another.
        second: String,
        /// The line of the profile that decides.
        line: String,
    },
    /// A declared column is not there.
    #[error("{}: no column \"{column}\", which is declared as {role}", path.display())]
    NoSuchColumn {
        /// The file whose columns are shown.
        path: PathBuf,
        /// The role.
        role: Role,
        /// The column or pattern declared.
        column: String,
        /// The columns that are there.
        seen: String,
    },
    /// A declared column cannot play its role.
    #[error("{}: column \"{column}\" is {shape}", path.display())]
    WrongShape {
        /// The file.
        path: PathBuf,
        /// The column.
        column: String,
        /// What it is.
        shape: String,
        /// The role.
        role: Role,
        /// What it must be.
        wanted: &'static str,
    },
    /// A file that this tool wrote, and no recording.
    #[error("{}: {what}, not a recording", path.display())]
    Own {
        /// The file.
        path: PathBuf,
        /// What it is.
        what: &'static str,
        /// What to do with it.
        hint: String,
    },
    /// A URDF that cannot be used.
    #[error("{}: {what}", path.display())]
    Urdf {
        /// The file.
        path: PathBuf,
        /// What is wrong with it.
        what: String,
        /// The hint.
        hint: &'static str,
    },
    /// A rig known from other data, which this data is not of.
    #[error("the data is not of the rig that is given: {0}")]
    OtherRig(String),
    /// As many joints declared as there are not.
    #[error("the profile declares {declared} joints, \"{column}\" holds {found} values a row")]
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

    /// What to do about it.
    pub fn hint(&self) -> Option<String> {
        let hint = match self {
            Self::NothingFound { hint, .. } | Self::Own { hint, .. } => hint.clone(),
            Self::NoSuchPath(_) => "check the spelling, or quote a pattern".to_owned(),
            Self::Unreachable { .. } => "check the permissions".to_owned(),
            Self::Url(_) => "copy the files to a local folder and name that".to_owned(),
            Self::Pattern { .. } => return None,
            Self::AllUnread { hint, .. } => return hint.clone(),
            Self::MissingRole { seen, hint, .. } => format!("columns: {seen}; {hint}"),
            Self::TwoCandidates { role, first, line, .. } => decide(*role, first, line),
            Self::NoSuchColumn { seen, .. } => format!("columns: {seen}"),
            Self::WrongShape { role, wanted, .. } => {
                format!("the {role} column must be {wanted}")
            }
            Self::Urdf { hint, .. } => (*hint).to_owned(),
            Self::OtherRig(_) => "name a measurements file of the same rig".to_owned(),
            Self::JointCount { .. } => "correct [[rig.joints]]".to_owned(),
        };
        Some(hint).filter(|hint| !hint.is_empty())
    }
}

/// The option that decides between two columns where there is one, and the line of a profile.
fn decide(role: Role, column: &str, line: &str) -> String {
    let option = match role {
        Role::State => "--state",
        Role::Action => "--action",
        Role::Time => "--time",
        Role::Episode => "--episode-column",
        _ => return format!("decide in the profile: [columns] {line}"),
    };
    format!("decide with {option} '{column}', or in a profile: [columns] {line}")
}

fn all_unread(files: usize, path: &Path, reason: &str) -> String {
    let one = format!("{}: {reason}", path.display());
    if files < 2 { one } else { format!("none of {files} files could be read; the first: {one}") }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_hint_is_no_part_of_the_text() {
        let path = || PathBuf::from("a; b.parquet");
        let errors = [
            SourceError::NoSuchPath(path()),
            SourceError::Url("s3://a".to_owned()),
            SourceError::OtherRig("another clock".to_owned()),
            SourceError::NoSuchColumn {
                path: path(),
                role: Role::Time,
                column: "t".to_owned(),
                seen: "\"x\" (float32)".to_owned(),
            },
            SourceError::AllUnread {
                files: 2,
                path: path(),
                reason: "is damaged".to_owned(),
                hint: Some("copy it again".to_owned()),
            },
        ];
        for error in errors {
            let (text, hint) = (error.to_string(), error.hint().unwrap_or_default());
            assert!(!hint.is_empty() && !text.contains(&hint), "{text}: {hint}");
        }
    }
}
