//! The plan of action: which episodes to leave out, when in them the fault shows, what can be
//! recovered and how.

use crate::model::{
    CardPlace, CheckSpec, Finding, JointId, Outcome, Scorecard, Severity, Stretch, Verdict,
};

/// What to do with what was recorded.
#[derive(Debug, Clone, Default)]
pub struct Action {
    /// Episodes to leave out or record again, in the order of the dataset.
    pub leave_out: Vec<LeaveOut>,
    /// Episodes that can be recovered, in the order of the dataset.
    pub recover: Vec<Recover>,
    /// Episodes that fail by nothing and warn of something of their own, worst first.
    pub review: Vec<CardPlace>,
    /// Faults that concern many episodes at once, worst first.
    pub rig: Vec<RigFault>,
    /// Episodes that cannot be trained on, whatever is done, in the order of the dataset.
    pub exclude: Vec<CardPlace>,
    /// Seconds that are usable once all that can be recovered is.
    pub usable_after_s: f64,
}

/// An episode that fails by something of its own that cannot be recovered.
#[derive(Debug, Clone)]
pub struct LeaveOut {
    /// Which one.
    pub place: CardPlace,
    /// The checks that fail, the worst first.
    pub checks: Vec<&'static CheckSpec>,
    /// Seconds from the start between which the first of them shows; none where it shows throughout.
    pub time_s: Option<[f64; 2]>,
}

/// An episode that fails by something of its own, all of which can be recovered.
#[derive(Debug, Clone)]
pub struct Recover {
    /// Which one.
    pub place: CardPlace,
    /// The checks that fail, the worst first.
    pub checks: Vec<&'static CheckSpec>,
    /// What to do with what is recorded, each way once.
    pub how: Vec<&'static str>,
}

/// A failure of the session as a whole.
#[derive(Debug, Clone, Copy)]
pub struct RigFault {
    /// The check.
    pub check: &'static CheckSpec,
    /// The joint, if one is concerned.
    pub joint: Option<JointId>,
    /// The episodes concerned; all of them without one.
    pub stretch: Option<Stretch>,
    /// What to do with what is recorded; none where it must be left out.
    pub how: Option<&'static str>,
}

impl Action {
    /// The plan from the cards, with the places of their own findings, and the order of the worst.
    pub(super) fn of(outcome: &Outcome, own: &[Vec<usize>], order: &[CardPlace]) -> Self {
        let mut plan = Self::default();
        for (place, card) in CardPlace::all(outcome.cards.len()).zip(&outcome.cards) {
            plan.episode(place, card, &own[place.get()]);
        }
        let cards = &outcome.cards;
        let warns =
            |at: &CardPlace| cards[at.get()].verdict != Verdict::Pass && !own[at.get()].is_empty();
        let fails = |at: &CardPlace| failures(&cards[at.get()], &own[at.get()]).next().is_some();
        plan.review = order.iter().copied().filter(|at| warns(at) && !fails(at)).collect();
        let rig = outcome.session.findings.iter().filter(|f| f.severity == Severity::Fail);
        let fault = |f: &crate::model::SessionFinding| RigFault {
            check: f.check,
            joint: f.joint,
            stretch: f.stretch,
            how: f.metric.recovery,
        };
        plan.rig = rig.map(fault).collect();
        plan.outlook(outcome, own);
        plan
    }

    /// Which episodes are lost, and how much can be used once the others are recovered.
    fn outlook(&mut self, outcome: &Outcome, own: &[Vec<usize>]) {
        for (place, card) in CardPlace::all(outcome.cards.len()).zip(&outcome.cards) {
            let shared = || outcome.session.findings.iter().filter(|f| f.bars(place));
            let own = &own[place.get()];
            let fails = failures(card, own).next().is_some();
            let usable = card.verdict != Verdict::Fail && shared().next().is_none();
            let known = fails || shared().next().is_some();
            let recoverable = known
                && shared().all(|f| f.metric.recovery.is_some())
                && (!fails || !ways(card, own).is_empty());
            if usable || recoverable {
                self.usable_after_s += card.duration_s;
            } else {
                self.exclude.push(place);
            }
        }
    }

    fn episode(&mut self, place: CardPlace, card: &Scorecard, own: &[usize]) {
        let Some((first, _)) = failures(card, own).next() else { return };
        let mut checks: Vec<&'static CheckSpec> = Vec::new();
        for (_, finding) in failures(card, own) {
            if !checks.iter().any(|check| check.id == finding.check.id) {
                checks.push(finding.check);
            }
        }
        let how = ways(card, own);
        if how.is_empty() {
            let time_s = when(card, first);
            self.leave_out.push(LeaveOut { place, checks, time_s });
        } else {
            self.recover.push(Recover { place, checks, how });
        }
    }

    /// Episodes that fail by something of their own.
    pub fn failing(&self) -> usize {
        self.leave_out.len() + self.recover.len()
    }
}

fn failures<'c>(
    card: &'c Scorecard,
    own: &'c [usize],
) -> impl Iterator<Item = (usize, &'c Finding)> {
    let own = own.iter().map(|at| (*at, &card.findings[*at]));
    own.filter(|(_, finding)| finding.severity == Severity::Fail)
}

/// How an episode can be recovered; empty if anything in it cannot be. What is of the rig can be
/// recovered for a session, where it is constant, not for one episode.
fn ways(card: &Scorecard, own: &[usize]) -> Vec<&'static str> {
    let way = |f: &Finding| f.metric.recovery.filter(|_| f.metric.pool.is_none());
    let all = failures(card, own).map(|(_, finding)| way(finding));
    let Some(mut ways) = all.collect::<Option<Vec<_>>>() else { return Vec::new() };
    ways.dedup();
    ways
}

/// From when to when a finding shows; none for what shows throughout.
fn when(card: &Scorecard, finding: usize) -> Option<[f64; 2]> {
    let ends = || card.span_times_s.get(finding).into_iter().flatten().flatten().copied();
    let (from, to) =
        (ends().fold(f64::INFINITY, f64::min), ends().fold(f64::NEG_INFINITY, f64::max));
    (from.is_finite() && to.is_finite()).then_some([from, to])
}
