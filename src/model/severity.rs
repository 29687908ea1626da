//! How bad a finding is.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// How bad a finding is.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "lowercase")]
#[schemars(rename = "severity")]
pub enum Severity {
    /// Look at it.
    Warn,
    /// Do not train on it.
    Fail,
}

impl Severity {
    /// As one word.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Warn => "warn",
            Self::Fail => "fail",
        }
    }
}
