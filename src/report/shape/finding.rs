//! Findings of one episode.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::model::{Severity, Why};
use crate::report::schema::UnitSymbol;

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

/// A stretch of frames, half open.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(rename = "span", deny_unknown_fields)]
pub struct SpanShape {
    /// The first frame, and the first frame after the last: `[first, after_last)`. Frames are counted
    /// from 0 in the episode.
    pub frames: [u64; 2],
    /// Time of the first and of the last frame from the episode's first stamp, in seconds; null where
    /// a stamp is missing.
    pub time_s: [Option<f64>; 2],
}

/// A finding that another one explains.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(rename = "suppressed", deny_unknown_fields)]
pub struct SuppressedShape {
    /// Check id.
    pub check: String,
    /// Measurement id.
    pub metric: String,
    /// Joint, if one is concerned.
    pub joint: Option<String>,
    /// How bad it would have been.
    pub severity: Severity,
    /// What was read.
    pub value: f64,
    /// Its unit.
    #[schemars(with = "UnitSymbol")]
    pub unit: String,
    /// `follows`: from another finding here. `session`: a finding of the session says it once.
    /// `usual`: no more than noise above what all episodes have, which is within the limit. `alike`:
    /// one finding says it of all joints.
    #[schemars(extend("enum" = Why::ALL.map(Why::word)))]
    pub why: String,
    /// Id of the check that explains it.
    pub by: String,
    /// Joint of what explains it, if one is concerned.
    pub by_joint: Option<String>,
}
