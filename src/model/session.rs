//! A whole session: what a run over a dataset gives back.

use super::accepted::Accepted;
use super::dimension::Dimension;
use super::known::Known;
use super::ledger::Ledger;
use super::metric::{CheckSpec, Metric};
use super::position::CardPlace;
use super::reading::Reading;
use super::required::Required;
use super::rig::JointId;
use super::scorecard::{Scorecard, Verdict};
use super::severity::Severity;
use super::skipped::{Skipped, Unread};
use super::suppressed::Suppressed;
use crate::num::interval::Interval;

/// Episodes by verdict.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Counts {
    /// Nothing beyond a limit.
    pub pass: u64,
    /// Worst finding is a warning.
    pub warn: u64,
    /// Worst finding is a failure.
    pub fail: u64,
}

impl Counts {
    /// Counts one more episode.
    pub const fn count(&mut self, verdict: Verdict) {
        match verdict {
            Verdict::Pass => self.pass += 1,
            Verdict::Warn => self.warn += 1,
            Verdict::Fail => self.fail += 1,
        }
    }
}

/// A number that a cohort check measured on the session as a whole.
#[derive(Debug, Clone)]
pub struct SessionReading {
    /// The number; its note says what a person should read with it.
    pub reading: Reading,
    /// Row of the ledger from which on it is so; none if it concerns no part of the session.
    pub from: Option<usize>,
    /// Episodes concerned.
    pub episodes: u64,
    /// Episodes assessed.
    pub of: u64,
}

/// Episodes that follow one another, by their places among the cards.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Stretch {
    /// The first.
    pub first: CardPlace,
    /// The last.
    pub last: CardPlace,
}

/// Something wrong with the session as a whole: what all its episodes together show, what affects
/// at least half of them, or what affects all from one episode on.
#[derive(Debug, Clone)]
pub struct SessionFinding {
    /// The check.
    pub check: &'static CheckSpec,
    /// The measurement.
    pub metric: &'static Metric,
    /// Warn or fail.
    pub severity: Severity,
    /// The joint, for a metric per joint.
    pub joint: Option<JointId>,
    /// Median over the episodes in which it was read, in the metric's unit; over those of the
    /// stretch, if there is one. What was measured on all of them together if a cohort check found it.
    pub value: f64,
    /// The 95 % interval of that median; of fewer than six episodes the minimum and the maximum,
    /// with what these cover; none for one.
    pub interval: Option<Interval>,
    /// Episodes behind the value.
    pub read: u64,
    /// The limit.
    pub limit: f64,
    /// Whether the limit lies within the interval.
    pub at_limit: bool,
    /// Episodes beyond the limit.
    pub episodes: u64,
    /// Episodes assessed.
    pub of: u64,
    /// Where the fault lies, if not in the whole session.
    pub stretch: Option<Stretch>,
    /// What a cohort check adds to it; empty for what episodes share.
    pub note: String,
}

impl SessionFinding {
    /// Whether it keeps the episode at this place from being trained on as it is: a failure of the
    /// rig is one of all its episodes, also of those too short to show it.
    pub fn bars(&self, place: CardPlace) -> bool {
        self.severity == Severity::Fail && !self.at_limit && self.covers(place)
    }

    /// Whether the episode at this place is one of those that it is about.
    pub fn covers(&self, place: CardPlace) -> bool {
        self.stretch.is_none_or(|s| (s.first..=s.last).contains(&place))
    }
}

/// Something that could not be assessed, and on how many episodes.
#[derive(Debug, Clone)]
pub struct SessionNotAssessed {
    /// The check.
    pub check: &'static CheckSpec,
    /// The joint, or the whole check.
    pub joint: Option<JointId>,
    /// Why (the reason of the first such episode).
    pub reason: String,
    /// On how many episodes; all of them for a check not assessed in the whole session.
    pub episodes: u64,
}

/// A check that had nothing to look at in any episode, because the table has no such columns.
#[derive(Debug, Clone, Copy)]
pub struct LeftOut {
    /// The check.
    pub check: &'static CheckSpec,
    /// What there is none of.
    pub reason: &'static str,
}

/// The session's own card.
#[derive(Debug, Clone)]
pub struct Session {
    /// Episodes audited.
    pub episodes: u64,
    /// Frames audited.
    pub frames: u64,
    /// Sum of the episodes' durations.
    pub duration_s: f64,
    /// Sum over the episodes that neither failed nor lie in a failure of the session.
    pub usable_s: f64,
    /// Worst of the episodes' and the session's own findings.
    pub verdict: Verdict,
    /// Episodes by verdict.
    pub counts: Counts,
    /// What is wrong with the session as a whole, worst first.
    pub findings: Vec<SessionFinding>,
    /// What cohort checks measured on the session as a whole, judged or not.
    pub readings: Vec<SessionReading>,
    /// Findings of episodes that were left out because they only follow from another one of the same
    /// episode.
    pub suppressed: u64,
    /// Findings of the session that another one of it explains.
    pub explained: Vec<Suppressed>,
    /// What could not be assessed.
    pub not_assessed: Vec<SessionNotAssessed>,
    /// Checks that had nothing to look at: not counted as not assessed, and no part of the verdict.
    pub left_out: Vec<LeftOut>,
}

/// Everything a run gives back.
#[derive(Debug, Clone)]
pub struct Outcome {
    /// The session's card.
    pub session: Session,
    /// One card per episode, in the order of the dataset.
    pub cards: Vec<Scorecard>,
    /// What could not be read.
    pub unread: Vec<Unread>,
    /// Files next to the recordings that are none.
    pub skipped: Skipped,
    /// Every reading of every episode, in compact form: cards keep theirs only when asked to.
    pub ledger: Ledger,
    /// What a trainer would normalise each dimension with, the follower's joints before the
    /// leader's; one that was never read has no row, and there is none where no motion was sketched.
    pub normalisation: Vec<Dimension>,
    /// Hash of each episode's content, in the order of the cards, where it was sketched.
    pub contents: Vec<Option<u64>>,
    /// What a person accepts of it, in the order of the profile.
    pub accepted: Vec<Accepted>,
    /// What of it a baseline has as well, where there is one.
    pub known: Option<Known>,
    /// What was required to be looked at, held against what was; none where nothing is required.
    pub required: Option<Required>,
}

/// How far a run has come: what a progress display needs, sent after each wave.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Progress {
    /// Episodes audited so far.
    pub done_episodes: u64,
    /// Episodes in the dataset.
    pub total_episodes: u64,
    /// Frames audited so far.
    pub frames: u64,
    /// Episodes that failed so far.
    pub failed: u64,
    /// Episodes that warned so far.
    pub warned: u64,
}
