//! How much of each episode a report holds.

use clap::ValueEnum;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// How much of each episode a report holds.
#[derive(
    Debug,
    Clone,
    Copy,
    Default,
    PartialEq,
    Eq,
    PartialOrd,
    Ord,
    Serialize,
    Deserialize,
    JsonSchema,
    ValueEnum,
)]
#[serde(rename_all = "lowercase")]
#[schemars(rename = "detail")]
pub enum JsonDetail {
    /// The verdict of each episode, and the checks behind it
    Summary,
    /// The findings of each episode, and what they explain
    #[default]
    Findings,
    /// All readings, and what could not be assessed
    Full,
}

impl JsonDetail {
    /// All of them, the shortest first.
    pub const ALL: [Self; 3] = [Self::Summary, Self::Findings, Self::Full];

    /// As one word.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Summary => "summary",
            Self::Findings => "findings",
            Self::Full => "full",
        }
    }
}
