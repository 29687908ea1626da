//! From episodes to the session: what they show together, and what affects at least half of them,
//! is one cause, not many.

use std::cmp::Ordering;
use std::collections::BTreeMap;

use super::contact;
use super::evidence::Evidence;
use super::facts;
use super::limits::Limits;
use super::pooled::pooled;
use super::severity::is_past;
use super::suppress::suppress_session;
use super::worst::worse;
use crate::model::{
    CardPlace, CheckSpec, Counts, Finding, JointId, Ledger, Metric, NotAssessed, Pool, Scorecard,
    Session, SessionFinding, SessionNotAssessed, Severity, Suppressed, Verdict,
};

/// From this share of the assessed episodes on, a finding is the session's.
const SYSTEMIC_SHARE: f64 = 0.5;

/// Identity of a finding across episodes, in the order of the checks.
type Place = (&'static str, Option<JointId>);

/// What must be counted while cards go by, because cards do not keep it.
#[derive(Debug, Default)]
pub struct Tally {
    not_assessed: BTreeMap<Place, SessionNotAssessed>,
    /// What could not be assessed of the session.
    session_not_assessed: Vec<SessionNotAssessed>,
}

impl Tally {
    /// Counts what could not be assessed on one episode.
    pub fn episode(&mut self, not_assessed: &[NotAssessed]) {
        for hole in not_assessed {
            let place = (hole.check.id, hole.joint);
            match self.not_assessed.get_mut(&place) {
                Some(known) => known.episodes += 1,
                None => {
                    self.not_assessed.insert(place, said(hole, 1));
                }
            }
        }
    }

    /// Notes what could not be assessed on the session.
    pub fn session(&mut self, hole: &NotAssessed, episodes: u64) {
        self.session_not_assessed.push(said(hole, episodes));
    }

    fn unassessed(&self, check: &CheckSpec, joint: Option<JointId>) -> u64 {
        let at = |joint| self.not_assessed.get(&(check.id, joint)).map_or(0, |hole| hole.episodes);
        if joint.is_some() { at(joint) + at(None) } else { at(None) }
    }
}

fn said(hole: &NotAssessed, episodes: u64) -> SessionNotAssessed {
    SessionNotAssessed {
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

/// The session's card, from the episodes' cards, the tally, and the ledger with a row for each
/// card.
///
/// What is of the rig is reported once: cards lose the warnings that the session's own findings say.
pub fn session(cards: &mut [Scorecard], tally: Tally, ledger: &Ledger, limits: &Limits) -> Session {
    contact::fold(cards, ledger, limits);
    let shared = facts::shared(ledger, limits);
    let (mut findings, mut explained) = systemic(cards, &tally, ledger, limits);
    explained.extend(facts::merge(&mut findings, &shared));
    facts::fold(cards, &findings, &shared);
    facts::fold_mechanics(cards, &findings, ledger);
    facts::fold_neighbours(cards, &findings);
    // Those of the session last: in a small one there are many, and the list is cut.
    let not_assessed = tally.not_assessed.into_values().chain(tally.session_not_assessed).collect();
    let mut session = Session {
        episodes: cards.len() as u64,
        frames: cards.iter().map(|card| card.frames as u64).sum(),
        duration_s: cards.iter().map(|card| card.duration_s).sum(),
        usable_s: 0.0,
        verdict: Verdict::Pass,
        counts: Counts::default(),
        findings,
        readings: Vec::new(),
        suppressed: cards.iter().map(follow_ups).sum(),
        explained,
        not_assessed,
        left_out: Vec::new(),
    };
    tallied(&mut session, cards);
    session
}

/// Counts verdicts and usable seconds, and gives the session its own verdict.
pub(super) fn tallied(session: &mut Session, cards: &[Scorecard]) {
    let (mut counts, mut usable_s) = (Counts::default(), 0.0);
    for (place, card) in CardPlace::all(cards.len()).zip(cards) {
        match card.verdict {
            Verdict::Pass => counts.pass += 1,
            Verdict::Warn => counts.warn += 1,
            Verdict::Fail => counts.fail += 1,
        }
        if card.verdict != Verdict::Fail && !session.findings.iter().any(|f| f.bars(place)) {
            usable_s += card.duration_s;
        }
    }
    let own = session.findings.iter().map(|f| Verdict::from(f.severity));
    let episodes = cards.iter().map(|card| card.verdict);
    session.verdict = episodes.chain(own).max().unwrap_or(Verdict::Pass);
    (session.counts, session.usable_s) = (counts, usable_s);
}

/// Findings of a card that only follow from another one of it.
fn follow_ups(card: &Scorecard) -> u64 {
    card.suppressed.iter().filter(|one| one.follows()).count() as u64
}

/// What the episodes show together where a measurement is pooled; else what at least half of the
/// assessed episodes share. One episode is no session.
fn systemic(
    cards: &[Scorecard],
    tally: &Tally,
    ledger: &Ledger,
    limits: &Limits,
) -> (Vec<SessionFinding>, Vec<Suppressed>) {
    if cards.len() < 2 {
        return (Vec::new(), Vec::new());
    }
    let mut causes: BTreeMap<Place, Vec<&Finding>> = BTreeMap::new();
    for finding in cards.iter().flat_map(|card| &card.findings) {
        causes.entry((finding.check.id, finding.joint)).or_default().push(finding);
    }
    let mut found: BTreeMap<Place, SessionFinding> = BTreeMap::new();
    let shared = causes.iter().filter_map(|((_, joint), of_episodes)| {
        let cause = leading(of_episodes);
        if cause.metric.pool.is_some() {
            return None;
        }
        let all = cards.len() as u64;
        let of = all - tally.unassessed(cause.check, *joint).min(all - 1);
        let episodes = of_episodes.len() as u64;
        let shared = episodes as f64 >= SYSTEMIC_SHARE * of as f64 && episodes >= 2;
        shared.then(|| cause.finding(*joint, episodes, of, ledger))
    });
    // For each check and joint the worst, so that one cause is one line.
    for finding in pooled(ledger, limits).into_iter().chain(shared) {
        let place = (finding.check.id, finding.joint);
        match found.get(&place) {
            Some(known) if order(known, &finding).is_ge() => {}
            _ => {
                found.insert(place, finding);
            }
        }
    }
    let mut found: Vec<SessionFinding> = found.into_values().collect();
    let explained = suppress_session(&mut found);
    found.sort_by(|a, b| order(b, a));
    (found, explained)
}

/// Order of findings, the worse the greater.
fn order(a: &SessionFinding, b: &SessionFinding) -> Ordering {
    let of = |finding: &SessionFinding| {
        let bound = match finding.metric.pool {
            Some(Pool::Session(bound) | Pool::Fact(bound)) => bound,
            _ => finding.metric.bound,
        };
        (bound, finding.value, finding.limit)
    };
    a.severity.cmp(&b.severity).then_with(|| worse(of(a), of(b)))
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

impl Cause {
    /// Its size over all episodes in which it was read: those beyond the limit alone would make it
    /// look larger. Only where the others hide it altogether is it the size where it reports.
    fn finding(
        self,
        joint: Option<JointId>,
        episodes: u64,
        of: u64,
        ledger: &Ledger,
    ) -> SessionFinding {
        let mut columns = ledger.columns();
        let read = columns.find(|c| c.2 == joint && c.1.is(self.metric) && c.0.is(self.check));
        let read = read.map_or(&[][..], |column| column.3);
        let read = read.iter().filter(|value| value.is_finite()).map(|value| f64::from(*value));
        let mut evidence = Evidence::of(read.collect(), None);
        if !is_past(self.metric.bound, self.limit, evidence.value) {
            evidence = Evidence::of(self.values, None);
        }
        SessionFinding {
            check: self.check,
            metric: self.metric,
            severity: self.severity,
            joint,
            value: evidence.value,
            interval: evidence.interval,
            read: evidence.read,
            limit: self.limit,
            at_limit: false,
            episodes,
            of,
            stretch: None,
            note: String::new(),
        }
    }
}
