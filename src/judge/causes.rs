//! What is wrong, grouped by cause: a person fixes causes, not findings.

use std::collections::BTreeMap;

use super::mend::{self, Mend};
use super::worst::worse;
use crate::catalogue::ALL;
use crate::model::{
    Bound, CardPlace, CheckSpec, Finding, JointId, Metric, Outcome, Scorecard, Severity,
};

/// One cause: a check that is beyond its limits on some joints, with all episodes that show it.
#[derive(Debug, Clone)]
pub struct Cause {
    /// The check.
    pub check: &'static CheckSpec,
    /// The measurement that lies farthest beyond its limit.
    pub metric: &'static Metric,
    /// The joints; empty where none is concerned.
    pub joints: Vec<JointId>,
    /// The worst severity.
    pub severity: Severity,
    /// Its worst reading (the median over the session, where the session shows it).
    pub value: f64,
    /// The limit of that reading.
    pub limit: f64,
    /// What shows it.
    pub extent: Extent,
    /// Seconds of the episodes that cannot be trained on because of it.
    pub lost_s: f64,
    /// How the recorded data is recoverable, each way once; empty where it must be left out.
    pub recovery: Vec<&'static str>,
    /// What the data alone can mend of it, exactly.
    pub mends: Vec<Mend>,
    /// Other checks that report in the same episodes and joints, or only warn in episodes that
    /// this one fails: there is nothing else to fix before it.
    pub also: Vec<&'static CheckSpec>,
}

/// What shows a cause.
#[derive(Debug, Clone)]
pub enum Extent {
    /// The session as a whole, or a stretch of it: the place among the session's findings.
    Session(usize),
    /// Single episodes, in the order of the dataset.
    Episodes(Vec<Affected>),
}

/// An episode that shows a cause.
#[derive(Debug, Clone)]
pub struct Affected {
    /// Which one.
    pub place: CardPlace,
    /// Warn or fail.
    pub severity: Severity,
    /// Seconds from the start between which it shows, in order; empty where it shows throughout.
    pub spans_s: Vec<[f64; 2]>,
}

impl Cause {
    /// Episodes that show it at its worst severity; none where the session as a whole does.
    pub fn failing(&self) -> impl Iterator<Item = &Affected> {
        self.affected().iter().filter(|one| one.severity == self.severity)
    }

    /// Episodes that show it; empty where the session as a whole does.
    pub fn affected(&self) -> &[Affected] {
        match &self.extent {
            Extent::Session(_) => &[],
            Extent::Episodes(episodes) => episodes,
        }
    }

    fn places(&self) -> Vec<CardPlace> {
        self.affected().iter().map(|one| one.place).collect()
    }

    const fn far(&self) -> (Bound, f64, f64) {
        (self.metric.bound, self.value, self.limit)
    }
}

/// Every cause of an outcome: those that fail before those that warn, most minutes lost first; and
/// what mends any of them, also those that are named with another one.
pub(super) fn causes(outcome: &Outcome, own: &[Vec<usize>]) -> (Vec<Cause>, Vec<Mend>) {
    let mut all = of_session(outcome);
    all.extend(of_episodes(&outcome.cards, own));
    // What loses as much stands in the order of the catalogue: a cause before what follows from it.
    let place = |cause: &Cause| ALL.iter().position(|check| check.spec().is(cause.check));
    all.sort_by(|a, b| {
        b.severity.cmp(&a.severity).then(b.lost_s.total_cmp(&a.lost_s)).then_with(|| {
            let episodes = b.affected().len().cmp(&a.affected().len());
            episodes.then_with(|| place(a).cmp(&place(b)))
        })
    });
    enter_mends(&mut all);
    let mut mends: Vec<Mend> = all.iter().flat_map(|cause| cause.mends.clone()).collect();
    mends.sort_unstable();
    mends.dedup();
    (folded(all), mends)
}

/// Enters what mends each cause.
fn enter_mends(all: &mut [Cause]) {
    let swapped = all.iter().filter(|cause| mend::swaps(cause.check));
    let mut joints: Vec<JointId> = swapped.flat_map(|cause| cause.joints.clone()).collect();
    joints.sort_unstable();
    joints.dedup();
    for cause in all {
        cause.mends = mend::of(cause.check, &cause.joints, &cause.recovery);
        cause.mends.extend(mend::of_swap(cause.check, &joints));
    }
}

fn of_session(outcome: &Outcome) -> Vec<Cause> {
    let cards = || CardPlace::all(outcome.cards.len()).zip(&outcome.cards);
    let of = |(at, finding): (usize, &crate::model::SessionFinding)| {
        let lost = cards().filter(|(place, _)| finding.bars(*place));
        Cause {
            check: finding.check,
            metric: finding.metric,
            joints: finding.joint.into_iter().collect(),
            severity: finding.severity,
            value: finding.value,
            limit: finding.limit,
            extent: Extent::Session(at),
            lost_s: lost.map(|(_, card)| card.duration_s).sum(),
            recovery: finding.metric.recovery.into_iter().collect(),
            mends: Vec::new(),
            also: Vec::new(),
        }
    };
    outcome.session.findings.iter().enumerate().map(of).collect()
}

/// The own findings of the episodes, by check and joint; joints that the same episodes show
/// together are one cause.
fn of_episodes(cards: &[Scorecard], own: &[Vec<usize>]) -> Vec<Cause> {
    let mut groups: BTreeMap<(&str, Option<JointId>), Cause> = BTreeMap::new();
    for (place, card) in CardPlace::all(cards.len()).zip(cards) {
        for &at in &own[place.get()] {
            let finding = &card.findings[at];
            let cause = groups
                .entry((finding.check.id, finding.joint))
                .or_insert_with(|| Cause::begin(finding));
            cause.add(place, finding, card.span_times_s.get(at).map_or(&[], Vec::as_slice));
        }
    }
    let mut merged: Vec<Cause> = Vec::new();
    for mut cause in groups.into_values() {
        cause.finish(cards);
        let places = cause.places();
        let same = |other: &&mut Cause| {
            let alike = other.check.is(cause.check) && other.severity == cause.severity;
            alike && other.places() == places
        };
        match merged.iter_mut().find(same) {
            Some(other) => other.join(cause),
            None => merged.push(cause),
        }
    }
    merged
}

impl Cause {
    fn begin(finding: &Finding) -> Self {
        Self {
            check: finding.check,
            metric: finding.metric,
            joints: finding.joint.into_iter().collect(),
            severity: finding.severity,
            value: finding.value,
            limit: finding.limit,
            extent: Extent::Episodes(Vec::new()),
            lost_s: 0.0,
            recovery: Vec::new(),
            mends: Vec::new(),
            also: Vec::new(),
        }
    }

    fn add(&mut self, place: CardPlace, finding: &Finding, spans_s: &[[f64; 2]]) {
        let theirs = (finding.metric.bound, finding.value, finding.limit);
        let order = finding.severity.cmp(&self.severity).then_with(|| worse(theirs, self.far()));
        if order.is_gt() {
            (self.metric, self.value, self.limit) = (finding.metric, finding.value, finding.limit);
        }
        self.severity = self.severity.max(finding.severity);
        // What is of the rig can be recovered for a session, where it is constant, not for one episode.
        let way = finding.metric.recovery.filter(|_| finding.metric.pool.is_none());
        if finding.severity == Severity::Fail || way.is_some() {
            self.recovery.push(way.unwrap_or_default());
        }
        let Extent::Episodes(episodes) = &mut self.extent else { return };
        let finite = spans_s.iter().filter(|span| span.iter().all(|end| end.is_finite()));
        match episodes.last_mut().filter(|last| last.place == place) {
            Some(last) => {
                last.severity = last.severity.max(finding.severity);
                last.spans_s.extend(finite);
                last.spans_s.sort_by(|a, b| a[0].total_cmp(&b[0]));
                last.spans_s.dedup();
            }
            None => episodes.push(Affected {
                place,
                severity: finding.severity,
                spans_s: finite.copied().collect(),
            }),
        }
    }

    /// Once all episodes are known.
    fn finish(&mut self, cards: &[Scorecard]) {
        let lost = self.affected().iter().filter(|one| one.severity == Severity::Fail);
        self.lost_s = lost.map(|one| cards[one.place.get()].duration_s).sum();
        // One way that is missing keeps the whole from being recovered.
        if self.recovery.iter().any(|way| way.is_empty()) {
            self.recovery.clear();
        }
        self.recovery.sort_unstable();
        self.recovery.dedup();
    }

    /// Takes another joint of the same check and episodes in.
    fn join(&mut self, other: Self) {
        self.joints.extend(&other.joints);
        if worse(other.far(), self.far()).is_gt() {
            (self.metric, self.value, self.limit) = (other.metric, other.value, other.limit);
        }
        let spans: Vec<_> = other.affected().iter().map(|one| one.spans_s.clone()).collect();
        if self.recovery.is_empty() || other.recovery.is_empty() {
            self.recovery.clear();
        } else {
            self.recovery.extend(other.recovery);
            self.recovery.sort_unstable();
            self.recovery.dedup();
        }
        let Extent::Episodes(episodes) = &mut self.extent else { return };
        for (one, more) in episodes.iter_mut().zip(spans) {
            one.spans_s.extend(more);
            one.spans_s.sort_by(|a, b| a[0].total_cmp(&b[0]));
            one.spans_s.dedup();
        }
    }
}

/// A cause whose episodes another one explains is named with it: the same joints at most as bad,
/// or a warning in episodes that fail anyway.
fn folded(all: Vec<Cause>) -> Vec<Cause> {
    let mut kept: Vec<Cause> = Vec::new();
    for cause in all {
        let places = cause.places();
        let explains = |other: &&mut Cause| {
            let within = |place: &CardPlace| other.failing().any(|one| one.place == *place);
            let joint = |joint: &JointId| other.joints.contains(joint);
            let same = !cause.joints.is_empty() && cause.joints.iter().all(joint);
            let minor = cause.severity == Severity::Warn && other.severity == Severity::Fail;
            !places.is_empty() && (same || minor) && places.iter().all(within)
        };
        match kept.iter_mut().find(explains) {
            Some(other) => {
                if !other.check.is(cause.check) && !other.also.iter().any(|c| c.is(cause.check)) {
                    other.also.push(cause.check);
                }
            }
            None => kept.push(cause),
        }
    }
    kept
}
