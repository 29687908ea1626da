//! Where in its file something is wrong.

use super::error::ProfileError;

/// Where errors point: the file's name, and its text to count lines in.
pub(super) struct Place<'a> {
    pub name: &'a str,
    pub text: &'a str,
}

impl Place<'_> {
    /// An error at a byte of the text; an empty hint is none.
    pub fn wrong(
        &self,
        span: std::ops::Range<usize>,
        what: impl Into<String>,
        hint: impl Into<String>,
    ) -> ProfileError {
        ProfileError::Wrong {
            file: self.name.to_owned(),
            line: line_of(self.text, span.start),
            what: what.into(),
            hint: Some(hint.into()).filter(|hint| !hint.is_empty()),
        }
    }
}

/// Line of a byte, counted from 1.
pub(super) fn line_of(text: &str, byte: usize) -> usize {
    1 + text.as_bytes().iter().take(byte).filter(|&&b| b == b'\n').count()
}
