//! One episode, in three sizes.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::finding::{FindingShape, SuppressedShape};
use super::session::NotAssessedShape;
use crate::model::Verdict;
use crate::report::schema::UnitSymbol;

/// One episode: its verdict.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(rename = "episode", deny_unknown_fields)]
pub struct EpisodeSummary {
    /// Id: what the data says, with a path in front where that is not unique. Bytes of a file's name
    /// that are no UTF-8 are written `\xNN`.
    pub episode: String,
    /// Where it was read from.
    pub source: SourceShape,
    /// Its task; null without one.
    pub task: Option<String>,
    /// Frames.
    pub frames: u64,
    /// Last stamp minus first.
    #[schemars(range(min = 0))]
    pub duration_s: f64,
    /// The verdict.
    pub verdict: Verdict,
    /// Whether it neither failed nor lies in a failure of the session.
    pub usable: bool,
    /// Checks that fail, the worst first.
    pub failed: Vec<String>,
    /// Checks that warn and do not fail, the worst first.
    pub warned: Vec<String>,
}

/// One episode: its findings.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(rename = "episode", deny_unknown_fields)]
pub struct EpisodeFindings {
    /// Id: what the data says, with a path in front where that is not unique. Bytes of a file's name
    /// that are no UTF-8 are written `\xNN`.
    pub episode: String,
    /// Where it was read from.
    pub source: SourceShape,
    /// Its task; null without one.
    pub task: Option<String>,
    /// Frames.
    pub frames: u64,
    /// Last stamp minus first.
    #[schemars(range(min = 0))]
    pub duration_s: f64,
    /// The verdict.
    pub verdict: Verdict,
    /// Whether it neither failed nor lies in a failure of the session.
    pub usable: bool,
    /// Everything beyond a limit, without what another finding explains.
    pub findings: Vec<FindingShape>,
    /// What was beyond a limit and is explained by another finding.
    pub suppressed: Vec<SuppressedShape>,
}

/// One episode: everything.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(rename = "episode", deny_unknown_fields)]
pub struct EpisodeShape {
    /// Id: what the data says, with a path in front where that is not unique. Bytes of a file's name
    /// that are no UTF-8 are written `\xNN`.
    pub episode: String,
    /// Where it was read from.
    pub source: SourceShape,
    /// Its task; null without one.
    pub task: Option<String>,
    /// Frames.
    pub frames: u64,
    /// Last stamp minus first.
    #[schemars(range(min = 0))]
    pub duration_s: f64,
    /// The verdict.
    pub verdict: Verdict,
    /// Whether it neither failed nor lies in a failure of the session.
    pub usable: bool,
    /// Everything measured.
    pub readings: Vec<ReadingShape>,
    /// Everything beyond a limit, without what another finding explains.
    pub findings: Vec<FindingShape>,
    /// What was beyond a limit and is explained by another finding.
    pub suppressed: Vec<SuppressedShape>,
    /// Everything that could not be measured.
    pub not_assessed: Vec<NotAssessedShape>,
}

/// Rows that an episode was read from.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[schemars(rename = "source", deny_unknown_fields)]
pub struct SourceShape {
    /// The file that it begins in. Bytes that are no UTF-8 are written `\xNN`.
    pub path: String,
    /// Rows of that file among which its rows are, half open: the first, and the first after the
    /// last.
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
