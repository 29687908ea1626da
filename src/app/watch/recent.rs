//! What the last episodes show together: a fault of the rig that is certain stops the session.

use std::collections::VecDeque;

use crate::check::tracking::neutral_offset;
use crate::engine::{Recent, together};
use crate::judge::Limits;
use crate::model::{CheckSpec, Family, JointId, Metric, Scorecard, SessionFinding, Severity};

/// Episodes that are held. What is older says nothing of the rig as it is now.
const WINDOW: usize = 24;
/// Fewest that make something certain: all of five on one side of a limit come about by chance once
/// in 32 times where the median lies at it, and never where it lies well within.
const FEWEST: u64 = 5;
/// Newest episodes that are looked at by themselves.
const SOON: usize = 6;
/// So many in a row without a fault, and it is taken for fixed.
const CLEAR: usize = 5;
/// The interval of the minimum and maximum of five.
const CONFIDENCE: f64 = 0.93;

/// What changed with an episode.
#[derive(Debug, Clone)]
pub enum Change {
    /// A fault of the rig is certain.
    Stop(SessionFinding),
    /// Something to look at is certain.
    Notice(SessionFinding),
    /// A fault has not shown in the last episodes.
    Cleared(&'static CheckSpec, Option<JointId>),
}

/// Something that was reported.
#[derive(Debug)]
struct Standing {
    check: &'static CheckSpec,
    metric: &'static Metric,
    joint: Option<JointId>,
    severity: Severity,
}

/// The last episodes.
#[derive(Debug, Default)]
pub struct Last {
    episodes: VecDeque<Recent>,
    standing: Vec<Standing>,
}

impl Last {
    /// Adds an episode. Gives its card without what the rig has in all of them, and what changed.
    pub fn add(&mut self, card: Scorecard, limits: &Limits) -> (Scorecard, Vec<Change>) {
        let recent = Recent::from(card);
        let alone = recent.card.clone();
        self.episodes.push_back(recent);
        if self.episodes.len() > WINDOW {
            self.episodes.pop_front();
        }
        let episodes = self.episodes.make_contiguous();
        let (session, mut cards) = together(episodes, limits);
        // A fault that began a few episodes ago is hidden by those before it.
        let (newest, _) = together(&episodes[episodes.len().saturating_sub(SOON)..], limits);
        let found = session.findings.iter().chain(&newest.findings);
        let mut changes = Vec::new();
        for finding in found.filter(|finding| certain(finding)) {
            let same =
                |one: &&mut Standing| finding.check.is(one.check) && finding.joint == one.joint;
            match self.standing.iter_mut().find(same) {
                Some(known) if known.severity >= finding.severity => continue,
                Some(known) => known.severity = finding.severity,
                None => self.standing.push(Standing {
                    check: finding.check,
                    metric: finding.metric,
                    joint: finding.joint,
                    severity: finding.severity,
                }),
            }
            changes.push(if stops(finding) {
                Change::Stop(finding.clone())
            } else {
                Change::Notice(finding.clone())
            });
        }
        changes.extend(self.cleared(limits));
        (cards.pop().unwrap_or(alone), changes)
    }

    /// What was reported and has not shown in the last episodes, neither together nor one by one.
    fn cleared(&mut self, limits: &Limits) -> Vec<Change> {
        if self.standing.is_empty() || self.episodes.len() < CLEAR {
            return Vec::new();
        }
        let from = self.episodes.len() - CLEAR;
        let last = &self.episodes.make_contiguous()[from..];
        let (session, _) = together(last, limits);
        let shows = |one: &Standing| {
            let joint = |joint: Option<JointId>| one.joint.is_none() || joint == one.joint;
            let own = last.iter().flat_map(|one| &one.card.findings);
            session.findings.iter().any(|f| f.check.is(one.check) && joint(f.joint))
                || own.into_iter().any(|f| f.check.is(one.check) && joint(f.joint))
        };
        // What was not read at all has not been seen to be right.
        let read = |one: &Standing| {
            let of = |recent: &&Recent| recent.read(one.check, one.metric, one.joint);
            last.iter().filter(of).count() >= CLEAR
        };
        let gone = self.standing.extract_if(.., |one| !shows(one) && read(one));
        let gone: Vec<Change> = gone.map(|one| Change::Cleared(one.check, one.joint)).collect();
        if !gone.is_empty() {
            // The episodes before the rig was mended are not of the rig as it is now.
            self.episodes.drain(..from);
        }
        gone
    }
}

/// Whether to go on would be in vain: what is recorded with it must be left out, or kept apart from
/// every other session. That is so of an offset from its warning on, which a calibration mends.
fn stops(finding: &SessionFinding) -> bool {
    use Family::{Mapping, Signal, Timing, Tracking};
    let of_rig = matches!(finding.check.family, Timing | Signal | Mapping | Tracking);
    let offset = finding.check.is(neutral_offset::CHECK.spec())
        && finding.metric.is(&neutral_offset::OFFSET);
    (finding.severity == Severity::Fail && of_rig) || offset
}

/// Whether it would be found in other episodes of the same rig as well. What the operator does
/// differs from episode to episode, and the report says that of the session.
fn certain(finding: &SessionFinding) -> bool {
    let of_rig = finding.check.family != Family::Motion;
    let interval = finding.interval.is_some_and(|interval| interval.confidence >= CONFIDENCE);
    let beyond = !finding.at_limit && (interval || finding.interval.is_none());
    let pooled = finding.metric.pool.is_some();
    let all = pooled || finding.episodes == finding.of;
    of_rig && finding.read >= FEWEST && beyond && all
}
