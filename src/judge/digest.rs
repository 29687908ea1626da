//! Everything that a report says of an outcome, judged once: renderers only format it.

use super::action::Action;
use super::causes::{Cause, causes};
use super::course::{Course, courses};
use super::limits::Limits;
use super::mend::Mend;
use super::own::own;
use super::rows::{self, Row};
use super::worst::order;
use crate::model::{CardPlace, CheckSpec, Finding, Outcome, Scorecard};

/// What is said of an outcome.
#[derive(Debug)]
pub struct Digest {
    /// One row per check over the session, worst first.
    pub rows: Vec<Row>,
    /// The places of the cards, worst first.
    pub order: Vec<CardPlace>,
    /// What to leave out, what can be recovered and how.
    pub plan: Action,
    /// What is wrong, grouped by cause, most minutes lost first.
    pub causes: Vec<Cause>,
    /// What the data alone can mend, exactly, each once.
    pub mends: Vec<Mend>,
    own: Vec<Vec<usize>>,
}

impl Digest {
    /// Judges an outcome by these limits; `checks` are those that were run, in the order in which a
    /// person reads them.
    pub fn of(outcome: &Outcome, limits: &Limits, checks: &[&'static CheckSpec]) -> Self {
        let (own, order) = (own(outcome), order(&outcome.cards));
        let plan = Action::of(outcome, &own, &order);
        let (causes, mends) = causes(outcome, &own);
        Self { rows: rows::of_session(outcome, limits, checks), order, plan, causes, mends, own }
    }

    /// The findings of a card that are its own: what affects the session as a whole is reported once.
    pub fn own<'c>(
        &self,
        cards: &'c [Scorecard],
        place: CardPlace,
    ) -> impl ExactSizeIterator<Item = &'c Finding> + use<'c, '_> {
        let findings = &cards[place.get()].findings;
        self.own[place.get()].iter().map(|at| &findings[*at])
    }

    /// The rows of one card, in the order of the checks.
    pub fn card(card: &Scorecard, limits: &Limits, checks: &[&'static CheckSpec]) -> Vec<Row> {
        rows::of_card(card, limits, checks)
    }

    /// Every judged measurement over the episodes, worst first.
    pub fn courses(
        outcome: &Outcome,
        limits: &Limits,
        checks: &[&'static CheckSpec],
    ) -> Vec<Course> {
        courses(outcome, limits, checks)
    }

    /// Whether a check measured anything in any episode or on the session.
    pub fn measured(outcome: &Outcome, check: &CheckSpec) -> bool {
        rows::measured(outcome, check)
    }
}
