//! One episode's card: what was read, what could not be, what is wrong.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::episode::EpisodeKey;
use super::finding::Finding;
use super::metric::CheckSpec;
use super::reading::{NotAssessed, Reading};
use super::rig::JointId;
use super::severity::Severity;
use super::span::Trim;
use super::suppressed::Suppressed;

/// The three states of an episode or session. Missing evidence is none of them: it is not assessed.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "lowercase")]
#[schemars(rename = "verdict")]
pub enum Verdict {
    /// Nothing beyond a limit.
    Pass,
    /// Look at it.
    Warn,
    /// Do not train on it.
    Fail,
}

impl Verdict {
    /// The worst of the findings' severities.
    pub fn of<'a>(findings: impl IntoIterator<Item = &'a Finding>) -> Self {
        findings.into_iter().map(|f| Self::from(f.severity)).max().unwrap_or(Self::Pass)
    }

    /// The verdict as one word.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Pass => "pass",
            Self::Warn => "warn",
            Self::Fail => "fail",
        }
    }
}

impl From<Severity> for Verdict {
    fn from(severity: Severity) -> Self {
        match severity {
            Severity::Warn => Self::Warn,
            Severity::Fail => Self::Fail,
        }
    }
}

/// One episode's card.
#[derive(Debug, Clone)]
pub struct Scorecard {
    /// Which episode.
    pub key: EpisodeKey,
    /// Number of frames.
    pub frames: usize,
    /// First finite stamp, in seconds: the zero of the times a person is shown.
    pub start_s: f64,
    /// Last stamp minus first, in seconds.
    pub duration_s: f64,
    /// Everything measured; empty where the run was asked not to keep readings.
    pub readings: Vec<Reading>,
    /// Everything that could not be measured.
    pub not_assessed: Vec<NotAssessed>,
    /// Everything beyond a limit, worst first, without what only follows from something else.
    pub findings: Vec<Finding>,
    /// Findings that another one explains. Where they follow from one of the same episode, what was
    /// read says nothing by itself, so the session's columns are without it.
    pub suppressed: Vec<Suppressed>,
    /// Time of the first and last frame of each finding's spans, in seconds from the start, in
    /// the order of `findings` and their spans.
    pub span_times_s: Vec<Vec<[f64; 2]>>,
    /// Still frames at the begin and the end that can be left out, where a limit asks for that.
    pub trim: Vec<Trim>,
    /// The worst finding.
    pub verdict: Verdict,
}

impl Scorecard {
    /// The readings that say something by themselves: without those of a check and joint of which
    /// all findings only followed from another one.
    pub fn reported(&self) -> impl Iterator<Item = &Reading> {
        self.readings.iter().filter(|reading| {
            !self.mute().any(|(check, joint)| check.is(reading.check) && joint == reading.joint)
        })
    }

    /// Checks and joints of which all findings only followed from another one.
    pub fn mute(&self) -> impl Iterator<Item = (&'static CheckSpec, Option<JointId>)> {
        let reported = |check: &CheckSpec, joint: Option<JointId>| {
            self.findings.iter().any(|f| f.check.is(check) && f.joint == joint)
        };
        let mute = self.suppressed.iter().filter(|one| one.follows());
        mute.map(|one| (one.check, one.joint))
            .filter(move |(check, joint)| !reported(check, *joint))
    }
}
