//! The plan of action: what to do with what was recorded.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

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
