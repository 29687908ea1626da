//! What must have been looked at, so that a gate does not open on data that nobody could judge.

use super::AppError;
use super::names::{Named, resolved};
use crate::catalogue::of_sessions;
use crate::check::Check;
use crate::engine::Plan;
use crate::judge::Requirement;
use crate::model::{CheckSpec, Outcome};

/// What must have been looked at.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Requires {
    /// Ids or titles of checks that must be assessed, each in one episode at least; or families, of
    /// which one check at least must be.
    pub checks: Vec<String>,
    /// Share of the pairs of an episode and a check that must be assessed: of what is named, or of
    /// all checks that had something to look at if nothing is.
    pub min_assessed: Option<f64>,
    /// The episode that alone counts; by default all do.
    pub episode: Option<String>,
}

impl Requires {
    /// The same with names resolved.
    pub(super) fn resolved(&self) -> Result<Requirement, AppError> {
        let mut requirement =
            Requirement { min_share: self.min_assessed, ..Requirement::default() };
        for name in &self.checks {
            match resolved(name)? {
                Named::Check(check) if requirement.checks.iter().any(|c| c.is(check)) => {}
                Named::Check(check) => requirement.checks.push(check),
                Named::Family(family) if requirement.families.contains(&family) => {}
                Named::Family(family) => requirement.families.push(family),
            }
        }
        Ok(requirement)
    }

    /// Enters in an outcome what was looked at of it.
    pub(super) fn enter(
        &self,
        requirement: &Requirement,
        outcome: &mut Outcome,
        run: &[&'static CheckSpec],
    ) {
        let mut cards = outcome.cards.iter();
        let only = self.episode.as_ref().and_then(|id| cards.find(|card| card.key.id == *id));
        outcome.required = requirement.of(outcome, run, only);
    }
}

/// Has the plan run what is required and would otherwise be spared.
pub(super) fn run_all(requirement: &Requirement, plan: &mut Plan) {
    let spared = of_sessions().filter(|check| check.only_readings);
    let wanted = |spec: &CheckSpec| requirement.checks.iter().any(|check| check.is(spec));
    plan.keep_readings |= spared.map(Check::spec).any(wanted);
}
