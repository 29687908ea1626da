//! What a profile says, held against the checks that exist.

use crate::check::Params;
use crate::judge::Limits;
use crate::model::Acceptance;
use crate::source::Declared;

/// Everything a profile says.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Profile {
    /// Column roles and rig.
    pub declared: Declared,
    /// Limits, over the checks' defaults.
    pub limits: Limits,
    /// Parameters, over the checks' defaults.
    pub params: Params,
    /// Checks to leave out.
    pub skip: Vec<&'static str>,
    /// Findings that are accepted, with a reason.
    pub accepted: Vec<Acceptance>,
    /// What was read and most likely means something else: file, line, and what to write.
    pub warnings: Vec<String>,
}
