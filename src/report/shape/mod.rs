//! The machine-readable scorecard, version 1: frozen once released.
//!
//! SI units throughout. Frames of a span are half-open, `[first, first after]`; its times are
//! seconds from the episode's first stamp. No clock time anywhere: the same input gives the same
//! bytes. Described by `scorecard.schema.json` in the folder above.

mod build;
mod plan;

use serde::{Deserialize, Serialize};

pub use crate::model::{Severity, Verdict};
pub use plan::{LeaveOutShape, PlanShape, RecoverShape, RigFaultShape};

/// What `schema` says in this version.
pub const VERSION: &str = "teleassay/scorecard/1";

/// The whole document.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Document {
    /// [`VERSION`].
    pub schema: String,
    /// The program that wrote it.
    pub tool: Tool,
    /// Files that were read, in the order of the dataset.
    pub inputs: Vec<InputFile>,
    /// Column roles.
    pub columns: Columns,
    /// The rig.
    pub rig: RigShape,
    /// The session as a whole.
    pub session: SessionShape,
    /// What a trainer would normalise each dimension with.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub normalisation: Vec<DimensionShape>,
    /// Episodes in the order of the dataset.
    pub episodes: Vec<EpisodeShape>,
    /// Files that could not be read.
    pub unread: Vec<UnreadFile>,
}

/// The same without its episodes: the last line of JSON Lines.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Head {
    /// [`VERSION`].
    pub schema: String,
    /// The program that wrote it.
    pub tool: Tool,
    /// Files that were read, in the order of the dataset.
    pub inputs: Vec<InputFile>,
    /// Column roles.
    pub columns: Columns,
    /// The rig.
    pub rig: RigShape,
    /// The session as a whole.
    pub session: SessionShape,
    /// What a trainer would normalise each dimension with.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub normalisation: Vec<DimensionShape>,
    /// Files that could not be read.
    pub unread: Vec<UnreadFile>,
}

/// One dimension of state or action over all frames, rad or m.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct DimensionShape {
    /// `state` or `action`.
    pub vector: String,
    /// Joint.
    pub joint: String,
    /// Mean.
    pub mean: f64,
    /// Standard deviation.
    pub std: f64,
    /// Smallest value.
    pub min: f64,
    /// Largest value.
    pub max: f64,
    /// 1 % quantile, of the sketched poses.
    pub quantile_01: f64,
    /// 99 % quantile, of the sketched poses.
    pub quantile_99: f64,
    /// Why normalising with these would mislead.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub warning: Option<String>,
}

/// A program.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Tool {
    /// Its name.
    pub name: String,
    /// Its version.
    pub version: String,
}

/// A file that was read.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct InputFile {
    /// Path as it was found.
    pub path: String,
    /// Size.
    pub bytes: u64,
    /// Rows.
    pub rows: u64,
    /// SHA-256 of its content in hexadecimal, where it was asked for.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sha256: Option<String>,
}

/// Column roles; null where no column plays one.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Columns {
    /// Episode column.
    pub episode: Option<String>,
    /// Time column.
    pub time: Option<String>,
    /// Follower columns.
    pub state: Vec<String>,
    /// Leader columns.
    pub action: Vec<String>,
    /// How the roles were decided.
    pub how: String,
}

/// The rig.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct RigShape {
    /// Declared rate.
    pub rate_hz: Option<f64>,
    /// Unit that the table stores its joints in; values of this document are SI.
    pub unit: String,
    /// Joints in order.
    pub joints: Vec<JointShape>,
    /// How the rig was understood: limits not found, scales assumed.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub notices: Vec<String>,
}

/// A joint.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct JointShape {
    /// Name.
    pub name: String,
    /// Declared lower limit, rad or m.
    pub lower: Option<f64>,
    /// Declared upper limit, rad or m.
    pub upper: Option<f64>,
    /// Whether it is a gripper.
    pub gripper: bool,
    /// What it measures; errors of an orientation are in rad.
    #[serde(default)]
    pub kind: String,
}

/// The session.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SessionShape {
    /// Episodes audited.
    pub episodes: u64,
    /// Frames audited.
    pub frames: u64,
    /// Sum of the episodes' durations.
    pub duration_s: f64,
    /// Sum over those that neither failed nor lie in a failure of the session.
    pub usable_s: f64,
    /// The verdict.
    pub verdict: Verdict,
    /// Episodes by verdict.
    pub counts: CountsShape,
    /// The exact 95 % interval of the share of episodes that fail; null without episodes.
    pub failed_share: Option<[f64; 2]>,
    /// Findings of episodes left out because they only follow from another one.
    pub suppressed: u64,
    /// What is wrong with the session as a whole.
    pub findings: Vec<SessionFindingShape>,
    /// What to leave out, what can be recovered and how.
    #[serde(default)]
    pub plan: PlanShape,
    /// Everything measured on the session as a whole, judged or not.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub readings: Vec<SessionReadingShape>,
    /// What could not be assessed.
    pub not_assessed: Vec<NotAssessedShape>,
    /// What it was held against, where a baseline was given.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub baseline: Option<BaselineShape>,
}

/// How a session compares with a baseline.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct BaselineShape {
    /// Findings that the baseline has as well: they do not count.
    pub known: u64,
    /// Findings that are new, or worse than in the baseline.
    pub new: u64,
    /// The worst of the new ones: what the exit code goes by.
    pub verdict: Verdict,
}

/// Episodes by verdict.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct CountsShape {
    /// Nothing beyond a limit.
    pub pass: u64,
    /// Worst finding is a warning.
    pub warn: u64,
    /// Worst finding is a failure.
    pub fail: u64,
}

/// A finding on the session as a whole.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SessionFindingShape {
    /// Check id.
    pub check: String,
    /// Measurement id.
    pub metric: String,
    /// Warn or fail.
    pub severity: Severity,
    /// Joint, if one is concerned.
    pub joint: Option<String>,
    /// Median over the episodes in which it was read.
    pub value: f64,
    /// Interval of that median; null where a single episode has it.
    pub interval: Option<[f64; 2]>,
    /// What the interval covers: 0.95 or a little more, less where fewer than six episodes have it.
    pub confidence: Option<f64>,
    /// Episodes behind the value.
    pub read: u64,
    /// The limit.
    pub limit: f64,
    /// Whether the limit lies within the interval.
    pub at_limit: bool,
    /// Unit of value, interval and limit.
    pub unit: String,
    /// Episodes beyond the limit.
    pub episodes: u64,
    /// Episodes assessed.
    pub of: u64,
    /// The exact 95 % interval of the share of such episodes; null where none was assessed.
    pub share: Option<[f64; 2]>,
    /// First and last of the episodes concerned; null where the whole session is.
    pub stretch: Option<[String; 2]>,
    /// In words.
    pub message: String,
    /// What to do.
    pub remedy: String,
    /// How recorded data is recoverable; null where no way is known.
    pub recovery: Option<String>,
    /// Whether a baseline has it as well; absent without one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub known: Option<bool>,
}

/// One reading on the session as a whole.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SessionReadingShape {
    /// Check id.
    pub check: String,
    /// Measurement id.
    pub metric: String,
    /// Joint, if one is concerned.
    pub joint: Option<String>,
    /// The number.
    pub value: f64,
    /// Its unit.
    pub unit: String,
    /// Episodes concerned.
    pub episodes: u64,
    /// Episodes assessed.
    pub of: u64,
    /// In words.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub note: Option<String>,
}

/// Something that could not be assessed.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct NotAssessedShape {
    /// Check id.
    pub check: String,
    /// The joint; absent where the whole check is meant.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub joint: Option<String>,
    /// Why.
    pub reason: String,
}

/// An episode.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct EpisodeShape {
    /// Id as stored.
    pub episode: String,
    /// Where it was read from.
    pub source: SourceShape,
    /// Frames.
    pub frames: u64,
    /// Last stamp minus first.
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
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct SuppressedShape {
    /// Check id.
    pub check: String,
    /// Joint, if one is concerned.
    pub joint: Option<String>,
}

/// Rows of a file.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct SourceShape {
    /// The file.
    pub path: String,
    /// First row, and first row after.
    pub rows: [u64; 2],
}

/// One reading.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
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
    pub unit: String,
}

/// One finding on an episode.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
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
    pub unit: String,
    /// Frames that bear it out.
    pub spans: Vec<SpanShape>,
    /// In words.
    pub message: String,
    /// What to do.
    pub remedy: String,
    /// Whether a baseline has it as well; absent without one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub known: Option<bool>,
}

/// A stretch of frames.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SpanShape {
    /// First frame, and first frame after.
    pub frames: [u64; 2],
    /// Time of the first and last frame from the episode's first stamp; null where a stamp is
    /// missing.
    pub time_s: [Option<f64>; 2],
}

/// A file that could not be read.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct UnreadFile {
    /// The file.
    pub path: String,
    /// Why.
    pub reason: String,
}
