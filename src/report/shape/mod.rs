//! The machine-readable report, version 1: frozen once released.
//!
//! SI units throughout. Frames of a span and rows of an episode are half-open, `[first, first after
//! the last)`; times are seconds from the episode's first stamp. No clock time anywhere: the same
//! input gives the same bytes. Described by the schema that is derived from it.

mod breakdown;
mod build;
mod detail;
mod episode;
mod finding;
mod parts;
mod plan;
mod plan_build;
mod required;
mod rows;
mod session;
mod values;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

#[cfg(feature = "internals")]
pub use crate::model::{Severity, Verdict};
#[cfg(feature = "internals")]
pub use breakdown::{BreakdownShape, GroupShape};
pub use detail::JsonDetail;
pub use episode::{EpisodeFindings, EpisodeShape, EpisodeSummary, ReadingShape, SourceShape};
pub use finding::{FindingShape, SpanShape, SuppressedShape};
#[cfg(feature = "internals")]
pub use plan::{AffectedShape, CauseShape, LeaveOutShape, PlanShape, RecoverShape, RigFaultShape};
pub use rows::EpisodeRow;
pub(in crate::report) use rows::{source, spans};
pub use session::{
    AcceptedShape, AssessedShape, BaselineShape, CountsShape, NotAssessedShape, RequiredShape,
    SessionFindingShape, SessionReadingShape, SessionShape,
};

/// What `schema` says in this version.
pub const VERSION: &str = "teleassay/scorecard/1";

/// The whole document.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(
    title = "teleassay report, version 1",
    description = "Values are SI (rad, m, s). Spans of frames and ranges of rows are half open: the \
                   first, and the first after the last. Episodes are in the order of the dataset.",
    extend("$id" = "urn:teleassay:scorecard:1"),
    deny_unknown_fields
)]
pub struct Document<L = Vec<EpisodeShape>> {
    /// [`VERSION`].
    #[schemars(description = "Which shape this is", extend("const" = VERSION))]
    pub schema: String,
    /// How much of each episode it holds.
    pub detail: JsonDetail,
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
    /// What a trainer would normalise each dimension with; absent where no motion was kept.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub normalisation: Vec<DimensionShape>,
    /// Files that could not be read.
    pub unread: Vec<UnreadFile>,
    /// Tables whose columns are not those of the other files: they were not audited.
    pub different_columns: Vec<UnreadFile>,
    /// Files next to the recordings that are none.
    pub skipped: SkippedShape,
    /// Episodes in the order of the dataset.
    #[serde(skip_serializing_if = "elsewhere")]
    pub episodes: L,
}

/// The episodes of a [`Head`]: they are written elsewhere.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Elsewhere;

/// The same without its episodes: what stands in the last line of JSON Lines.
pub type Head = Document<Elsewhere>;

/// Whether these episodes are written elsewhere: a list has a size, [`Elsewhere`] none.
fn elsewhere<L>(_: &L) -> bool {
    size_of::<L>() == 0
}

/// One dimension of state or action over all frames; rad, or m if linear.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(rename = "dimension", deny_unknown_fields)]
pub struct DimensionShape {
    /// `state` or `action`.
    #[schemars(extend("enum" = ["state", "action"]))]
    pub vector: String,
    /// Joint.
    pub joint: String,
    /// Mean.
    pub mean: f64,
    /// Standard deviation.
    #[schemars(range(min = 0))]
    pub std: f64,
    /// Smallest value.
    pub min: f64,
    /// Largest value.
    pub max: f64,
    /// 1 % quantile, of 49 poses of each episode (17 of the action), weighted by frames; of more
    /// than 16,384 episodes, of as many at random.
    pub quantile_01: f64,
    /// 99 % quantile, of the same.
    pub quantile_99: f64,
    /// Why normalising with these would mislead.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(with = "String")]
    pub warning: Option<String>,
}

/// The program that wrote the document.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[schemars(rename = "tool", deny_unknown_fields)]
pub struct Tool {
    /// Its name.
    #[schemars(extend("const" = env!("CARGO_PKG_NAME")))]
    pub name: String,
    /// Its version.
    pub version: String,
}

/// A file that was read.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[schemars(rename = "input", deny_unknown_fields)]
pub struct InputFile {
    /// Path as it was found. Bytes that are no UTF-8 are written `\xNN`.
    pub path: String,
    /// Size.
    pub bytes: u64,
    /// Rows.
    pub rows: u64,
    /// SHA-256 of its content in hexadecimal; there only where `--hash-inputs` asked for it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(with = "String")]
    pub sha256: Option<String>,
}

/// Which column plays which role; null or empty where none does.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[schemars(rename = "columns", deny_unknown_fields)]
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
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(rename = "rig", deny_unknown_fields)]
pub struct RigShape {
    /// Declared rate.
    pub rate_hz: Option<f64>,
    /// Unit that the table stores its joints in; values of this document are SI.
    #[schemars(extend("enum" = ["rad", "deg", "counts", "normalized"]))]
    pub unit: String,
    /// Joints in order.
    pub joints: Vec<JointShape>,
    /// How the rig was understood: limits not found, scales assumed; absent where there
    /// is nothing to say.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub notices: Vec<String>,
}

/// A joint; limits in rad, or m if linear.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(rename = "joint", deny_unknown_fields)]
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

/// A file that could not be read; the rest was audited without it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[schemars(rename = "unread", deny_unknown_fields)]
pub struct UnreadFile {
    /// The file.
    pub path: String,
    /// Why.
    pub reason: String,
}

/// Files next to the recordings that are none: nothing is said of them.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[schemars(rename = "skipped", deny_unknown_fields)]
pub struct SkippedShape {
    /// Files that are no tables, by their ending, most files first.
    pub kinds: Vec<SkippedKind>,
    /// Files that this tool wrote.
    pub own: Vec<String>,
}

/// Files of one ending.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[schemars(rename = "skipped_kind", deny_unknown_fields)]
pub struct SkippedKind {
    /// The ending, in small letters; empty for names without one.
    pub ending: String,
    /// How many there are.
    pub files: u64,
}
