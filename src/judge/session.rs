//! From episodes to the session: what befalls at least half of them is one cause, not many.

use std::collections::BTreeMap;

use super::excess;
use crate::model::{
    CheckSpec, Counts, Finding, Hole, JointId, Metric, Scorecard, Session, SessionFinding,
    SessionHole, Severity, Verdict,
};
use crate::num::quantile::median_in_place;

/// From this share of the assessed episodes on, a finding is the session's.
const SYSTEMIC_SHARE: f64 = 0.5;

/// Identity of a finding across episodes, in the order of the checks.
type Place = (&'static str, Option<JointId>);

/// What must be counted while cards go by, because cards do not keep it.
#[derive(Debug, Default)]
pub struct Tally {
    holes: BTreeMap<Place, SessionHole>,
    /// Holes that concern the session and no episode.
    session_holes: Vec<SessionHole>,
}

impl Tally {
    /// Counts what could not be assessed on one episode.
    pub fn episode(&mut self, holes: &[Hole]) {
        for hole in holes {
            let place = (hole.check.id, hole.joint);
            match self.holes.get_mut(&place) {
                Some(known) => known.episodes += 1,
                None => {
                    self.holes.insert(place, said(hole, 1));
                }
            }
        }
    }

    /// Notes what could not be assessed on the session.
    pub fn session(&mut self, hole: &Hole, episodes: u64) {
        self.session_holes.push(said(hole, episodes));
    }

    fn unassessed(&self, check: &CheckSpec, joint: Option<JointId>) -> u64 {
        let at = |joint| self.holes.get(&(check.id, joint)).map_or(0, |hole| hole.episodes);
        if joint.is_some() { at(joint) + at(None) } else { at(None) }
    }
}

fn said(hole: &Hole, episodes: u64) -> SessionHole {
    SessionHole {
        check: hole.check,
        joint: hole.joint,
        reason: hole.reason.clone().into_owned(),
        episodes,
    }
}

struct Cause {
    metric: &'static Metric,
    check: &'static CheckSpec,
    limit: f64,
    severity: Severity,
    values: Vec<f64>,
}

/// The session's card, from the episodes' cards and the tally.
pub fn session(cards: &[Scorecard], tally: Tally) -> Session {
    let mut counts = Counts::default();
    let (mut frames, mut duration_s, mut usable_s) = (0, 0.0, 0.0);
    for card in cards {
        frames += card.frames as u64;
        duration_s += card.duration_s;
        match card.verdict {
            Verdict::Pass => counts.pass += 1,
            Verdict::Warn => counts.warn += 1,
            Verdict::Fail => counts.fail += 1,
        }
        if card.verdict != Verdict::Fail {
            usable_s += card.duration_s;
        }
    }
    let findings = systemic(cards, &tally);
    let own = findings.iter().map(|f| Verdict::from(f.severity));
    let episodes = cards.iter().map(|card| card.verdict);
    let verdict = episodes.chain(own).max().unwrap_or(Verdict::Pass);
    let holes = tally.session_holes.into_iter().chain(tally.holes.into_values()).collect();
    Session {
        episodes: cards.len() as u64,
        frames,
        duration_s,
        usable_s,
        verdict,
        counts,
        findings,
        silenced: cards.iter().map(|card| card.silenced.len() as u64).sum(),
        holes,
        left_out: Vec::new(),
    }
}

/// Findings that at least half of the assessed episodes share. One episode is no session.
fn systemic(cards: &[Scorecard], tally: &Tally) -> Vec<SessionFinding> {
    if cards.len() < 2 {
        return Vec::new();
    }
    let mut causes: BTreeMap<Place, Vec<&Finding>> = BTreeMap::new();
    for finding in cards.iter().flat_map(|card| &card.findings) {
        causes.entry((finding.check.id, finding.joint)).or_default().push(finding);
    }
    let mut found: Vec<(f64, SessionFinding)> = Vec::new();
    for ((_, joint), of_episodes) in causes {
        let first = of_episodes[0];
        let assessed =
            cards.len() as u64 - tally.unassessed(first.check, joint).min(cards.len() as u64 - 1);
        let episodes = of_episodes.len() as u64;
        if (episodes as f64) < SYSTEMIC_SHARE * assessed as f64 || episodes < 2 {
            continue;
        }
        let mut cause = leading(&of_episodes);
        let value = median_in_place(&mut cause.values);
        let finding = SessionFinding {
            check: cause.check,
            metric: cause.metric,
            severity: cause.severity,
            joint,
            value,
            limit: cause.limit,
            episodes,
            of: assessed,
        };
        found.push((excess(cause.metric.bound, cause.limit, value), finding));
    }
    found.sort_by(|(x, a), (y, b)| b.severity.cmp(&a.severity).then(y.total_cmp(x)));
    found.into_iter().map(|(_, finding)| finding).collect()
}

/// The measurement that most of the episodes' findings name, pooled. The session fails if half
/// of these fail.
fn leading(findings: &[&Finding]) -> Cause {
    let mut counts: BTreeMap<&str, usize> = BTreeMap::new();
    for finding in findings {
        *counts.entry(finding.metric.id).or_default() += 1;
    }
    let most = counts.values().copied().max().unwrap_or(0);
    let lead = findings.iter().find(|f| counts[f.metric.id] == most).unwrap_or(&findings[0]);
    let failed = findings.iter().filter(|f| f.severity == Severity::Fail).count();
    let severity = if 2 * failed >= findings.len() { Severity::Fail } else { Severity::Warn };
    let named = || findings.iter().filter(|f| f.metric.id == lead.metric.id);
    let limit = named().find(|f| f.severity == severity).map_or(lead.limit, |f| f.limit);
    Cause {
        metric: lead.metric,
        check: lead.check,
        limit,
        severity,
        values: named().map(|f| f.value).collect(),
    }
}
