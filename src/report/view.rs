//! Everything a renderer may look at.

use crate::judge::{Digest, Limits};
use crate::model::{
    Accepted, Bound, CardPlace, CheckSpec, Finding, Joint, JointId, Metric, Outcome, Rig,
    Scorecard, SessionFinding, Unit, Verdict,
};
use crate::source::{Input, RoleChoice};

/// What a renderer is given: the outcome, and what it is read against.
#[derive(Debug, Clone, Copy)]
pub struct View<'a> {
    /// The outcome of a run.
    pub outcome: &'a Outcome,
    /// The rig.
    pub rig: &'a Rig,
    /// Which column plays which role.
    pub roles: &'a [RoleChoice],
    /// Files that were read.
    pub inputs: &'a [Input],
    /// What is said of the outcome.
    pub digest: &'a Digest,
    /// Limits in force.
    pub limits: &'a Limits,
    /// Checks that were run, in the order in which a person reads them.
    pub checks: &'a [&'static CheckSpec],
    /// The command that gave this outcome, as it can be pasted: `teleassay audit nursery`.
    pub command: &'a str,
    /// The command that draws an episode, to be completed by `--episode ID`; none where the data is
    /// not at hand.
    pub trace: Option<&'a str>,
    /// The command that writes a clean copy, to be completed by what is changed; none where the data
    /// is not at hand.
    pub keep: Option<&'a str>,
    /// Columns to write to, at least 80.
    pub width: usize,
}

impl<'a> View<'a> {
    /// The place of an episode's card, by its id.
    pub fn find(&self, id: &str) -> Option<CardPlace> {
        self.outcome.cards.iter().position(|card| card.key.id == id).map(CardPlace::new)
    }

    /// The command that draws an episode; none where the data is not at hand.
    pub(super) fn trace(&self, card: &Scorecard, joint: Option<JointId>) -> Option<String> {
        let command = self.trace?;
        let id = super::text::quote(&card.key.id);
        let joint = match self.joint(joint) {
            "" => String::new(),
            name => format!(" --joint {}", super::text::quote(name)),
        };
        Some(format!("{command} --episode {id}{joint}"))
    }

    /// Whether a baseline has this finding of a card as well; none without a baseline.
    pub(super) fn known(&self, card: &Scorecard, finding: &Finding) -> Option<bool> {
        self.outcome.known.as_ref().map(|known| known.of(card, finding))
    }

    /// The same of the session's findings, by their place.
    pub fn known_of_session(&self, at: usize) -> Option<bool> {
        let known = self.outcome.known.as_ref()?;
        Some(known.session.get(at).copied().unwrap_or(false))
    }

    /// How the session compares with a baseline, in words.
    pub(super) fn against_baseline(&self) -> Option<String> {
        let known = self.outcome.known.as_ref()?;
        let n = super::text::count(known.before, "known finding");
        Some(format!("{n} not counted; {} new", known.new))
    }

    /// What a person accepts of it, and why, line by line.
    pub(super) fn accepted(&self) -> Vec<String> {
        let words = self.outcome.accepted.iter().filter_map(Accepted::words);
        words.map(|text| format!("accepted: {text}")).collect()
    }

    /// Why the gate fails by what was not looked at, line by line.
    pub(super) fn gate_missing(&self) -> Vec<String> {
        let missing = self.outcome.required.iter().flat_map(|required| &required.missing);
        missing.map(|text| format!("gate: {text}")).collect()
    }

    /// What was measured on the session as a whole and nobody judges, in words, a line to a check.
    pub(super) fn unjudged(&self) -> Vec<String> {
        let mut lines: Vec<(&CheckSpec, String)> = Vec::new();
        for read in &self.outcome.session.readings {
            let reading = &read.reading;
            let unjudged = matches!(reading.metric.bound, Bound::Unjudged);
            let Some(note) = reading.note.as_ref().filter(|_| unjudged) else { continue };
            match lines.iter_mut().find(|(check, _)| check.id == reading.check.id) {
                Some((_, text)) => *text = format!("{text}; {note}"),
                None => lines.push((reading.check, note.to_string())),
            }
        }
        lines.into_iter().map(|(check, text)| format!("{}: {text}", check.title())).collect()
    }

    /// Whether a joint is linear, so that its lengths are metres.
    pub(super) fn linear(&self, joint: Option<JointId>) -> bool {
        joint.and_then(|j| self.rig.joints.get(j as usize)).is_some_and(|j: &Joint| j.linear)
    }

    /// A joint's name; empty for what concerns no joint.
    pub(super) fn joint(&self, joint: Option<JointId>) -> &'a str {
        joint.map_or("", |j| self.rig.joint_name(j))
    }

    /// The SI unit a reading is written in: a linear joint has metres where others have radians.
    pub(super) fn unit(&self, metric: &Metric, joint: Option<JointId>) -> &'static str {
        match metric.unit {
            Unit::Radian if self.linear(joint) => "m",
            Unit::RadianPerSecond if self.linear(joint) => "m/s",
            unit => unit.symbol(),
        }
    }

    /// Whether an episode neither failed nor lies in a failure of the session.
    pub(super) fn usable(&self, place: CardPlace) -> bool {
        let barred = self.outcome.session.findings.iter().any(|f| f.bars(place));
        self.card(place).verdict != Verdict::Fail && !barred
    }

    /// The card at this place.
    pub fn card(&self, place: CardPlace) -> &'a Scorecard {
        &self.outcome.cards[place.get()]
    }

    /// The findings of the card at this place that are its own: what affects the session as a
    /// whole is reported once.
    pub(super) fn own(&self, place: CardPlace) -> impl ExactSizeIterator<Item = &'a Finding> {
        self.digest.own(&self.outcome.cards, place)
    }

    /// The places of the cards that have findings of their own, worst first.
    pub(super) fn flagged(&self) -> impl Iterator<Item = CardPlace> {
        self.digest.order.iter().copied().filter(|place| self.own(*place).len() > 0)
    }

    /// Checks of which nothing could be said in any episode.
    pub(super) fn silent(&self) -> usize {
        let session = &self.outcome.session;
        let silent = |check: &&&CheckSpec| {
            session.not_assessed.iter().any(|hole| {
                let whole = hole.joint.is_none() && hole.episodes >= session.episodes;
                whole && hole.check.id == check.id
            })
        };
        self.checks.iter().filter(silent).filter(|check| !self.measured(check)).count()
    }

    /// Whether a check measured anything in any episode or on the session, with or without a limit.
    pub(super) fn measured(&self, check: &CheckSpec) -> bool {
        Digest::measured(self.outcome, check)
    }

    /// Checks with nothing to look at, in one line: most tables lack most optional columns.
    pub(super) fn left_out(&self) -> Option<String> {
        let mut reasons: Vec<(&str, Vec<&str>)> = Vec::new();
        for left in &self.outcome.session.left_out {
            match reasons.iter_mut().find(|(reason, _)| *reason == left.reason) {
                Some((_, checks)) => checks.push(left.check.id),
                None => reasons.push((left.reason, vec![left.check.id])),
            }
        }
        let one =
            |(reason, checks): &(&str, Vec<&str>)| format!("{reason} ({})", checks.join(", "));
        let text = reasons.iter().map(one).collect::<Vec<_>>().join("; ");
        (!text.is_empty()).then_some(text)
    }

    /// Checks that had something to look at.
    pub(super) fn asked(&self) -> usize {
        self.checks.len().saturating_sub(self.outcome.session.left_out.len())
    }

    /// Whether no check could be assessed: that is not a pass.
    pub(super) fn nothing_assessed(&self) -> bool {
        let silent = self.silent();
        silent > 0 && silent == self.asked() && self.outcome.session.verdict == Verdict::Pass
    }

    /// Findings of the session as a whole.
    pub(super) fn session_findings(&self) -> &'a [SessionFinding] {
        &self.outcome.session.findings
    }
}
