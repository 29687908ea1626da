//! What can end a run early, and the exit code of it.

use std::fmt::Display;
use std::io;
use std::path::Path;

use super::interrupt;
use crate::app::{AppError, ErrorKind};

/// The kind of an error: decides the exit code.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// Wrong usage, profile or input.
    Input,
    /// Nothing was there to check.
    Nothing,
    /// A fault of this program.
    Internal,
    /// The reader of the output stopped reading.
    BrokenPipe,
    /// The person asked for the end.
    Interrupted,
}

/// An error in one line, and a hint in another.
#[derive(Debug, thiserror::Error)]
#[error("{what}")]
pub struct CliError {
    kind: Kind,
    what: String,
    hint: Option<String>,
}

impl CliError {
    /// Wrong usage, profile or input.
    pub fn input(what: impl Into<String>) -> Self {
        Self { kind: Kind::Input, what: what.into(), hint: None }
    }

    /// Nothing was there to check.
    pub fn nothing(what: impl Into<String>) -> Self {
        Self { kind: Kind::Nothing, what: what.into(), hint: None }
    }

    /// A fault of this program.
    pub fn internal(what: impl Into<String>) -> Self {
        Self { kind: Kind::Internal, what: format!("internal error: {}", what.into()), hint: None }
            .with_hint("please report it, with the command that led here")
    }

    /// A file that could not be written.
    pub fn write(path: &Path, error: &impl Display) -> Self {
        let hint = "check that the folder exists and may be written to";
        Self::input(format!("{} cannot be written: {error}", path.display())).with_hint(hint)
    }

    /// An error of the application while a file was written.
    pub fn of_file(path: &Path, error: AppError) -> Self {
        if error.kind() == ErrorKind::Unwritten { Self::write(path, &error) } else { error.into() }
    }

    /// The same with a hint.
    pub fn with_hint(mut self, hint: impl Into<String>) -> Self {
        self.hint = Some(hint.into()).filter(|hint: &String| !hint.is_empty());
        self
    }

    /// What to do about it.
    pub fn hint(&self) -> Option<&str> {
        self.hint.as_deref()
    }

    /// The person asked for the end.
    pub fn interrupted() -> Self {
        Self { kind: Kind::Interrupted, what: "interrupted".to_owned(), hint: None }
    }

    /// Whether nothing is printed: the output was closed by its reader, which is no error, or the
    /// person asked for the end.
    pub fn says_nothing(&self) -> bool {
        matches!(self.kind, Kind::BrokenPipe | Kind::Interrupted)
    }

    /// The exit code.
    pub fn code(&self) -> u8 {
        match self.kind {
            Kind::BrokenPipe => 0,
            Kind::Input => 2,
            Kind::Nothing => 3,
            Kind::Internal => 70,
            Kind::Interrupted => interrupt::code(),
        }
    }
}

impl From<AppError> for CliError {
    fn from(error: AppError) -> Self {
        let what = error.to_string();
        let made = match error.kind() {
            ErrorKind::Input | ErrorKind::Unwritten => Self::input(what),
            ErrorKind::Nothing => Self::nothing(what),
            ErrorKind::Internal => Self::internal(what),
        };
        match error.hint() {
            Some(hint) => made.with_hint(hint),
            None => made,
        }
    }
}

/// An error of standard output; files are wrapped by [`CliError::write`].
impl From<io::Error> for CliError {
    fn from(error: io::Error) -> Self {
        if error.kind() == io::ErrorKind::BrokenPipe {
            return Self { kind: Kind::BrokenPipe, what: error.to_string(), hint: None };
        }
        Self::input(format!("standard output cannot be written: {error}"))
    }
}
