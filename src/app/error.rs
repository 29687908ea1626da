//! Why a request could not be carried out.

use crate::demo::DemoError;
use crate::engine::EngineError;
use crate::profile::ProfileError;
use crate::source::SourceError;
use crate::source::copy::CopyError;
use crate::store::StoreError;

/// Kinds of errors.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[non_exhaustive]
pub enum ErrorKind {
    /// Wrong request, profile or data.
    Input,
    /// There was nothing to check.
    Nothing,
    /// The measurements file could not be written.
    Unwritten,
    /// A fault of this program.
    Internal,
}

/// An error: what is wrong, and what to do about it.
#[derive(Debug, thiserror::Error)]
#[error("{what}")]
pub struct AppError {
    kind: ErrorKind,
    what: String,
    hint: Option<String>,
}

impl AppError {
    /// Wrong request, profile or data.
    pub(crate) fn input(what: impl Into<String>) -> Self {
        Self { kind: ErrorKind::Input, what: what.into(), hint: None }
    }

    /// There was nothing to check.
    pub(crate) fn nothing(what: impl Into<String>) -> Self {
        Self { kind: ErrorKind::Nothing, what: what.into(), hint: None }
    }

    /// A fault of this program.
    pub(crate) fn internal(what: impl Into<String>) -> Self {
        Self { kind: ErrorKind::Internal, what: what.into(), hint: None }
    }

    /// The same with a hint; an empty one is none.
    pub(crate) fn with_hint(mut self, hint: impl Into<String>) -> Self {
        self.hint = Some(hint.into()).filter(|hint: &String| !hint.is_empty());
        self
    }

    /// The same with what it is of in front.
    pub(crate) fn of(mut self, what: &str) -> Self {
        self.what = format!("{what}: {}", self.what);
        self
    }

    /// Its kind.
    pub fn kind(&self) -> ErrorKind {
        self.kind
    }

    /// What to do about it.
    pub fn hint(&self) -> Option<&str> {
        self.hint.as_deref()
    }
}

impl From<ProfileError> for AppError {
    fn from(error: ProfileError) -> Self {
        Self::input(error.to_string()).with_hint(error.hint().unwrap_or_default())
    }
}

impl From<SourceError> for AppError {
    fn from(error: SourceError) -> Self {
        let what = error.to_string();
        let made = if error.nothing_found() { Self::nothing(what) } else { Self::input(what) };
        made.with_hint(error.hint().unwrap_or_default())
    }
}

impl From<StoreError> for AppError {
    fn from(error: StoreError) -> Self {
        let (what, hint) = (error.to_string(), error.hint());
        match error {
            StoreError::Unwritten(what) => Self { kind: ErrorKind::Unwritten, what, hint: None },
            StoreError::NoColumn(_) => Self::internal(what).with_hint(hint),
            _ => Self::input(what).with_hint(hint),
        }
    }
}

impl From<CopyError> for AppError {
    fn from(error: CopyError) -> Self {
        let (what, hint) = (error.to_string(), error.hint().unwrap_or_default().to_owned());
        Self::input(what).with_hint(hint)
    }
}

impl From<EngineError> for AppError {
    fn from(error: EngineError) -> Self {
        Self::internal(error.to_string())
    }
}

impl From<DemoError> for AppError {
    fn from(error: DemoError) -> Self {
        Self::input(error.to_string()).with_hint(error.hint().unwrap_or_default())
    }
}
