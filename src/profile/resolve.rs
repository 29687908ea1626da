//! From what is written to what is meant.

use super::error::ProfileError;
use super::file::{File, line_of};
use super::{Profile, check_section, rig_section};
use crate::model::CheckSpec;
use crate::source::DeclaredBase;

/// Where errors point: the file's name, and its text to count lines in.
pub(super) struct Place<'a> {
    pub name: &'a str,
    pub text: &'a str,
}

impl Place<'_> {
    /// An error at a byte of the text.
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
            hint: hint.into(),
        }
    }
}

/// Holds a file against the checks that exist.
pub(super) fn profile(
    file: File,
    place: &Place<'_>,
    checks: &[&'static CheckSpec],
) -> Result<Profile, ProfileError> {
    let mut declared = rig_section::columns(file.columns.unwrap_or_default(), place)?;
    rig_section::rig(file.rig.unwrap_or_default(), place, &mut declared)?;
    declared.cameras = rig_section::cameras(file.camera, place)?;
    declared.base = file.base.map(|base| DeclaredBase { velocity: base.velocity, pose: base.pose });
    Ok(Profile {
        declared,
        limits: check_section::limits(&file.limits, place, checks)?,
        params: check_section::params(&file.params, place, checks)?,
        skip: check_section::skip(&file.checks.unwrap_or_default().skip, place, checks)?,
    })
}
