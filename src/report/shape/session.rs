//! The session as a whole.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::breakdown::BreakdownShape;
use super::finding::SuppressedShape;
use super::plan::PlanShape;
use crate::model::{Accepted, Severity, Verdict};
use crate::report::schema::UnitSymbol;

/// The session as a whole.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(rename = "session", deny_unknown_fields)]
pub struct SessionShape {
    /// Episodes audited.
    pub episodes: u64,
    /// Frames audited.
    pub frames: u64,
    /// Sum of the episodes' durations.
    #[schemars(range(min = 0))]
    pub duration_s: f64,
    /// Duration of the episodes that neither failed nor lie in a failure of the session.
    #[schemars(range(min = 0))]
    pub usable_s: f64,
    /// The verdict.
    pub verdict: Verdict,
    /// Episodes by verdict.
    pub counts: CountsShape,
    /// Exact 95 % interval of the share of episodes that fail (Clopper-Pearson); null without
    /// episodes.
    pub failed_share: Option<[f64; 2]>,
    /// Findings of episodes left out because they only follow from another one of the same episode.
    pub suppressed: u64,
    /// Findings of the session that another one of it explains.
    #[serde(default)]
    pub suppressed_findings: Vec<SuppressedShape>,
    /// What is wrong with the session as a whole.
    pub findings: Vec<SessionFindingShape>,
    /// What to leave out, what can be recovered and how.
    #[serde(default)]
    pub plan: PlanShape,
    /// Episodes by what they have in common: task, declared labels, folder keys, folder, day, file;
    /// absent where there is one group, more than 200, or nearly one for each episode.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub breakdowns: Vec<BreakdownShape>,
    /// Everything measured on the session as a whole, judged or not; absent where nothing was.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub readings: Vec<SessionReadingShape>,
    /// What could not be assessed.
    pub not_assessed: Vec<NotAssessedShape>,
    /// What it was held against, where a baseline was given.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(with = "BaselineShape")]
    pub baseline: Option<BaselineShape>,
    /// What the profile accepts, and what it took in; absent where it accepts nothing.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub accepted: Vec<AcceptedShape>,
    /// What had to be looked at, where `--require` or `--min-assessed` asked for that.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(with = "RequiredShape")]
    pub required: Option<RequiredShape>,
}

/// Findings that a person accepts: part of `suppressed`, and not of a verdict.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[schemars(rename = "accepted", deny_unknown_fields)]
pub struct AcceptedShape {
    /// Check id.
    pub check: String,
    /// The joint; absent for all of them.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(with = "String")]
    pub joint: Option<String>,
    /// Episodes, by id or pattern; absent for all of them.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub episodes: Vec<String>,
    /// Why.
    pub reason: String,
    /// The last day on which it holds, ISO 8601; absent for always.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(with = "String")]
    pub until: Option<String>,
    /// Findings that it took in.
    pub findings: u64,
    /// Whether its last day is past.
    pub past: bool,
}

impl AcceptedShape {
    /// In the words of the document.
    pub fn of(accepted: &Accepted) -> Self {
        let Accepted { said, findings, past } = accepted;
        Self {
            check: said.check.id.to_owned(),
            joint: said.joint.clone(),
            episodes: said.episodes.clone(),
            reason: said.reason.clone(),
            until: said.until.map(|day| day.to_string()),
            findings: *findings,
            past: *past,
        }
    }
}

/// What had to be looked at, and what was.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(rename = "required", deny_unknown_fields)]
pub struct RequiredShape {
    /// Whether it was looked at; otherwise the exit code is 1.
    pub met: bool,
    /// Why not, in words; empty where it was.
    pub missing: Vec<String>,
    /// Share that had to be assessed; absent where none was asked for.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(with = "f64")]
    pub min_assessed: Option<f64>,
    /// Share that was assessed, each check in each episode counted once; null without a check.
    pub assessed: Option<f64>,
    /// The checks that count.
    pub checks: Vec<AssessedShape>,
}

/// In how many episodes a check was assessed.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[schemars(rename = "assessed", deny_unknown_fields)]
pub struct AssessedShape {
    /// Check id.
    pub check: String,
    /// Episodes in which it was assessed.
    pub episodes: u64,
    /// Episodes there are; 1 where a single episode was asked for.
    pub of: u64,
    /// Why not in the others; absent where it was in all.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(with = "String")]
    pub reason: Option<String>,
}

/// How a session compares with a baseline.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[schemars(rename = "baseline", deny_unknown_fields)]
pub struct BaselineShape {
    /// Findings that the baseline has as well: they do not count.
    pub known: u64,
    /// Findings that are new, or worse than in the baseline.
    pub new: u64,
    /// The worst of the new ones: what the exit code goes by.
    pub verdict: Verdict,
}

/// Episodes by verdict.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[schemars(rename = "counts", deny_unknown_fields)]
pub struct CountsShape {
    /// Nothing beyond a limit.
    pub pass: u64,
    /// Worst finding is a warning.
    pub warn: u64,
    /// Worst finding is a failure.
    pub fail: u64,
}

/// Something wrong with the session as a whole.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(rename = "session_finding", deny_unknown_fields)]
pub struct SessionFindingShape {
    /// Check id.
    pub check: String,
    /// Measurement id.
    pub metric: String,
    /// Warn or fail.
    pub severity: Severity,
    /// Joint, if one is concerned.
    pub joint: Option<String>,
    /// Median over the episodes in which it was read (of the stretch, if there is one).
    pub value: f64,
    /// Interval of that median, by order statistics; null where a single episode has it.
    pub interval: Option<[f64; 2]>,
    /// What the interval covers: 0.95 or a little more; less where fewer than six episodes
    /// have it, and then the interval is smallest to largest.
    #[schemars(range(min = 0))]
    pub confidence: Option<f64>,
    /// Episodes behind the value.
    pub read: u64,
    /// The limit.
    pub limit: f64,
    /// Whether the limit lies within the interval.
    pub at_limit: bool,
    /// Unit of value, interval and limit.
    #[schemars(with = "UnitSymbol")]
    pub unit: String,
    /// Episodes beyond the limit.
    pub episodes: u64,
    /// Episodes assessed.
    pub of: u64,
    /// Exact 95 % interval of the share of such episodes (Clopper-Pearson); null where none was
    /// assessed.
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
    #[schemars(with = "bool")]
    pub known: Option<bool>,
}

/// One reading on the session as a whole.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(rename = "session_reading", deny_unknown_fields)]
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
    #[schemars(with = "UnitSymbol")]
    pub unit: String,
    /// Episodes concerned.
    pub episodes: u64,
    /// Episodes assessed.
    pub of: u64,
    /// In words.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(with = "String")]
    pub note: Option<String>,
}

/// Something that could not be assessed, which is never a pass.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[schemars(rename = "not_assessed", deny_unknown_fields)]
pub struct NotAssessedShape {
    /// Check id.
    pub check: String,
    /// Joint; absent where the whole check is meant.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(with = "String")]
    pub joint: Option<String>,
    /// Why.
    pub reason: String,
    /// In how many episodes; absent in an episode.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(with = "u64")]
    pub episodes: Option<u64>,
}
