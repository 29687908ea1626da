//! The plan of action: what to do with what was recorded.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::model::Severity;
use crate::report::schema::UnitSymbol;

/// What to do with what was recorded.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(rename = "plan", deny_unknown_fields)]
pub struct PlanShape {
    /// Episodes to leave out or record again.
    pub leave_out: Vec<LeaveOutShape>,
    /// Episodes that can be recovered.
    pub recover: Vec<RecoverShape>,
    /// Failures of the session as a whole: fix the rig before the next recording.
    pub rig: Vec<RigFaultShape>,
    /// What is wrong, grouped by cause: failures before warnings, most seconds lost first.
    #[serde(default)]
    pub causes: Vec<CauseShape>,
    /// Options of `teleassay keep` that mend, exactly, what the data alone can.
    #[serde(default)]
    pub keep: Vec<String>,
    /// Seconds that are usable once all that can be recovered is.
    #[serde(default)]
    #[schemars(range(min = 0))]
    pub usable_after_s: f64,
}

/// One cause: a check that is beyond its limits, with all that shows it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(rename = "cause", deny_unknown_fields)]
pub struct CauseShape {
    /// Check id.
    pub check: String,
    /// Joints concerned; empty where none is.
    pub joints: Vec<String>,
    /// Warn or fail.
    pub severity: Severity,
    /// Its measurement.
    pub metric: String,
    /// Its worst value; the median over the session, where the session as a whole shows it.
    pub value: f64,
    /// The limit.
    pub limit: f64,
    /// Unit of value and limit.
    #[schemars(with = "UnitSymbol")]
    pub unit: String,
    /// Whether the session as a whole shows it, or a stretch of it: then no episodes are listed.
    pub session: bool,
    /// Episodes that show it, in the order of the dataset.
    pub episodes: Vec<AffectedShape>,
    /// Seconds of the episodes that cannot be trained on because of it.
    #[schemars(range(min = 0))]
    pub lost_s: f64,
    /// What most likely happened.
    pub cause: String,
    /// What to do on the rig.
    pub remedy: String,
    /// What to do with what is recorded; empty where it must be left out or nothing need be done.
    pub recovery: Vec<String>,
    /// Options of `teleassay keep` that mend it, exactly; empty where the data alone cannot.
    #[serde(default)]
    pub keep: Vec<String>,
    /// Whether nothing can be done with what is recorded: only the rig can be put right.
    #[serde(default)]
    pub rig_only: bool,
    /// Other checks that report in the same episodes and have nothing else to fix before this.
    pub also: Vec<String>,
}

/// An episode that shows a cause.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(rename = "affected", deny_unknown_fields)]
pub struct AffectedShape {
    /// Id as stored.
    pub episode: String,
    /// Warn or fail.
    pub severity: Severity,
    /// Seconds from the start between which it shows; empty where it shows throughout.
    pub spans_s: Vec<[f64; 2]>,
}

/// An episode that fails by something of its own that cannot be recovered.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(rename = "leave_out", deny_unknown_fields)]
pub struct LeaveOutShape {
    /// Id as stored.
    pub episode: String,
    /// Checks that fail, the worst first.
    #[schemars(length(min = 1))]
    pub checks: Vec<String>,
    /// Seconds from the start between which the first of them shows; null where it shows
    /// throughout.
    pub time_s: Option<[f64; 2]>,
}

/// An episode that fails by something of its own, all of which can be recovered.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[schemars(rename = "recover", deny_unknown_fields)]
pub struct RecoverShape {
    /// Id as stored.
    pub episode: String,
    /// Checks that fail, the worst first.
    #[schemars(length(min = 1))]
    pub checks: Vec<String>,
    /// What to do with what is recorded.
    #[schemars(length(min = 1))]
    pub how: Vec<String>,
}

/// A failure of the session as a whole.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[schemars(rename = "rig_fault", deny_unknown_fields)]
pub struct RigFaultShape {
    /// Check id.
    pub check: String,
    /// Joint, if one is concerned.
    pub joint: Option<String>,
    /// First and last of the episodes concerned; null where the whole session is.
    pub stretch: Option<[String; 2]>,
    /// How recorded data is recoverable; null where the episodes concerned must be left out.
    pub how: Option<String>,
}
