//! One episode.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::session::NotAssessedShape;
use crate::model::{Severity, Verdict};
use crate::report::schema::UnitSymbol;

/// One episode.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(rename = "episode", deny_unknown_fields)]
pub struct EpisodeShape {
    /// Id as stored.
    pub episode: String,
    /// Where it was read from.
    pub source: SourceShape,
    /// Frames.
    pub frames: u64,
    /// Last stamp minus first.
    #[schemars(range(min = 0))]
    pub duration_s: f64,
    /// The verdict.
    pub verdict: Verdict,
    /// Everything measured.
    pub readings: Vec<ReadingShape>,
    /// Everything beyond a limit, without what only follows from another finding.
    pub findings: Vec<FindingShape>,
    /// Where something was beyond a limit and only follows from another finding.
    pub suppressed: Vec<SuppressedShape>,
    /// Everything that could not be measured.
    pub not_assessed: Vec<NotAssessedShape>,
}

/// Check and joint of a finding that only follows from another one.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[schemars(rename = "suppressed", deny_unknown_fields)]
pub struct SuppressedShape {
    /// Check id.
    pub check: String,
    /// Joint, if one is concerned.
    pub joint: Option<String>,
}

/// Rows that an episode was read from.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[schemars(rename = "source", deny_unknown_fields)]
pub struct SourceShape {
    /// The file.
    pub path: String,
    /// First row, and first row after.
    pub rows: [u64; 2],
}

/// One measurement.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(rename = "reading", deny_unknown_fields)]
pub struct ReadingShape {
    /// Check id.
    pub check: String,
    /// Measurement id.
    pub metric: String,
    /// Joint, if one is concerned.
    pub joint: Option<String>,
    /// The number.
    pub value: f64,
    /// Its unit.
    #[schemars(with = "UnitSymbol")]
    pub unit: String,
}

/// A measurement beyond its limit.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(rename = "finding", deny_unknown_fields)]
pub struct FindingShape {
    /// Check id.
    pub check: String,
    /// Measurement id.
    pub metric: String,
    /// Warn or fail.
    pub severity: Severity,
    /// Joint, if one is concerned.
    pub joint: Option<String>,
    /// What was read.
    pub value: f64,
    /// The limit.
    pub limit: f64,
    /// Unit of both.
    #[schemars(with = "UnitSymbol")]
    pub unit: String,
    /// Frames that bear it out, at most eight, in the order of time.
    pub spans: Vec<SpanShape>,
    /// In words.
    pub message: String,
    /// What to do.
    pub remedy: String,
    /// Whether a baseline has it as well; absent without one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(with = "bool")]
    pub known: Option<bool>,
}

/// A stretch of frames.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(rename = "span", deny_unknown_fields)]
pub struct SpanShape {
    /// First frame, and first frame after.
    pub frames: [u64; 2],
    /// Time of the first and last frame from the episode's first stamp, in seconds; null where a
    /// stamp is missing.
    pub time_s: [Option<f64>; 2],
}
