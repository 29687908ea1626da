//! Which checks could look, and in how many episodes.

use super::rows::measured;
use crate::catalogue::find_of_episodes;
use crate::model::{Assessed, CheckSpec, Family, Outcome, Required, Scorecard, SessionNotAssessed};

/// What must have been looked at.
#[derive(Debug, Clone, Default)]
pub struct Requirement {
    /// Checks of which each must be assessed.
    pub checks: Vec<&'static CheckSpec>,
    /// Families of which one check at least must be assessed.
    pub families: Vec<Family>,
    /// Share of the pairs of an episode and a check that must be assessed: of these checks and
    /// families, or of all checks if none is named. What had nothing to look at counts only if it
    /// is named itself.
    pub min_share: Option<f64>,
}

impl Requirement {
    /// Holds it against an outcome, of which `run` are the checks that were run; with `only`,
    /// against that episode. None where nothing is required.
    pub fn of(
        &self,
        outcome: &Outcome,
        run: &[&'static CheckSpec],
        only: Option<&Scorecard>,
    ) -> Option<Required> {
        let named = !self.checks.is_empty() || !self.families.is_empty();
        if !named && self.min_share.is_none() {
            return None;
        }
        let seen = |check: &'static CheckSpec| assessed(outcome, run, check, only);
        let mut checks: Vec<Assessed> = self.checks.iter().map(|check| seen(check)).collect();
        let mut missing: Vec<String> = checks
            .iter()
            .filter(|one| one.episodes == 0)
            .map(|one| format!("{} is required and was not assessed: {}", one.check.id, one.why()))
            .collect();
        for family in &self.families {
            let of_family = run.iter().filter(|check| check.family == *family);
            let members: Vec<Assessed> = of_family.map(|check| seen(check)).collect();
            if members.iter().all(|one| one.episodes == 0) {
                missing.push(format!(
                    "{family} is required, and none of its checks was assessed: {}",
                    most_frequent(&members)
                ));
            }
            let new = members.into_iter().filter(had_something);
            let new: Vec<_> =
                new.filter(|one| !checks.iter().any(|c| c.check.is(one.check))).collect();
            checks.extend(new);
        }
        if !named {
            checks = run.iter().map(|check| seen(check)).filter(had_something).collect();
        }
        let required = Required { checks, missing, min_share: self.min_share };
        Some(required.with_share())
    }
}

/// Whether it measured something or says why not, other than that the table has nothing of it.
fn had_something(one: &Assessed) -> bool {
    one.episodes > 0 || (!one.left_out && one.reason.is_some())
}

/// The reason that most of these give.
fn most_frequent(members: &[Assessed]) -> String {
    let mut reasons: Vec<(usize, String)> = Vec::new();
    for why in members.iter().map(Assessed::why) {
        match reasons.iter_mut().find(|(_, known)| *known == why) {
            Some((count, _)) => *count += 1,
            None => reasons.push((1, why)),
        }
    }
    // The first of those that are equally frequent.
    let most = reasons.iter().rev().max_by_key(|(count, _)| *count);
    most.map_or_else(|| "--only, --skip or the profile leaves it out".to_owned(), |m| m.1.clone())
}

fn assessed(
    outcome: &Outcome,
    run: &[&'static CheckSpec],
    check: &'static CheckSpec,
    only: Option<&Scorecard>,
) -> Assessed {
    let of = if only.is_some() { 1 } else { outcome.session.episodes };
    if !run.iter().any(|known| known.is(check)) {
        let reason = Some("--only, --skip or the profile leaves it out".to_owned());
        return Assessed { check, episodes: 0, of, reason, left_out: false };
    }
    let per_episode = find_of_episodes(check.id).is_some();
    let episodes = match only {
        _ if !per_episode => {
            // A check of the session looks at all episodes or at none; what it finds nothing in has
            // no reading.
            let missed = |hole: &SessionNotAssessed| hole.check.is(check) && hole.joint.is_none();
            let blind = outcome.session.not_assessed.iter().any(missed);
            if blind && !measured(outcome, check) { 0 } else { of }
        }
        Some(card) => u64::from(looked(card, check)),
        None => in_episodes(outcome, check),
    };
    let left_out = outcome.session.left_out.iter().any(|left| left.check.is(check));
    let reason = if episodes < of { reason(outcome, check, only) } else { None };
    Assessed { check, episodes, of, reason, left_out }
}

/// Whether a card says anything of a check. What was suppressed was looked at, too.
fn looked(card: &Scorecard, check: &CheckSpec) -> bool {
    card.readings.iter().any(|reading| reading.check.is(check)) || shows(card, check)
}

fn shows(card: &Scorecard, check: &CheckSpec) -> bool {
    card.findings.iter().any(|finding| finding.check.is(check))
        || card.suppressed.iter().any(|one| one.check.is(check))
}

/// In how many episodes a check has a reading or a finding. Cards need not keep their readings.
fn in_episodes(outcome: &Outcome, check: &CheckSpec) -> u64 {
    let mut seen: Vec<bool> = outcome.cards.iter().map(|card| shows(card, check)).collect();
    for (_, _, _, values) in outcome.ledger.columns().filter(|column| column.0.is(check)) {
        for (seen, value) in seen.iter_mut().zip(values) {
            *seen |= value.is_finite();
        }
    }
    seen.into_iter().filter(|seen| *seen).count() as u64
}

/// Why a check was not assessed: of the whole check before that of a joint.
fn reason(outcome: &Outcome, check: &CheckSpec, only: Option<&Scorecard>) -> Option<String> {
    let session = &outcome.session;
    if let Some(left) = session.left_out.iter().find(|left| left.check.is(check)) {
        return Some(left.reason.to_owned());
    }
    let mut holes: Vec<(bool, &str)> = if let Some(card) = only {
        let holes = card.not_assessed.iter().filter(|hole| hole.check.is(check));
        holes.map(|hole| (hole.joint.is_some(), &*hole.reason)).collect()
    } else {
        let holes = session.not_assessed.iter().filter(|hole| hole.check.is(check));
        holes.map(|hole| (hole.joint.is_some(), &*hole.reason)).collect()
    };
    holes.sort_by_key(|(of_joint, _)| *of_joint);
    holes.first().map(|(_, reason)| (*reason).to_owned())
}
