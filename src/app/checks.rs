//! Which checks run.

use crate::app::AppError;
use crate::app::names::{all, named};
use crate::catalogue::{of_episodes, of_sessions};
use crate::engine::Plan;
use crate::model::CheckSpec;
use crate::profile::Profile;

/// Which checks to run. By default all that the profile does not skip.
#[derive(Debug, Clone, Default)]
pub struct Choice {
    /// The only checks to run, even if the profile skips them: ids, titles or families.
    pub only: Vec<String>,
    /// Checks to leave out, likewise.
    pub skip: Vec<String>,
}

impl Choice {
    /// Checks that run, in the order in which a person reads them.
    pub(super) fn under(&self, profile: &Profile) -> Result<Vec<&'static CheckSpec>, AppError> {
        let ids = |names: &[String]| -> Result<Vec<&'static str>, AppError> {
            Ok(of_names(names)?.into_iter().map(|check| check.id).collect())
        };
        let (only, mut skip) = (ids(&self.only)?, ids(&self.skip)?);
        skip.extend(&profile.skip);
        let runs = |id: &&'static str| {
            if only.is_empty() { !skip.contains(id) } else { only.contains(id) }
        };
        Ok(all().into_iter().filter(|check| runs(&check.id)).collect())
    }
}

/// The checks of several names, each once.
pub(super) fn of_names(names: &[String]) -> Result<Vec<&'static CheckSpec>, AppError> {
    let mut found: Vec<&'static CheckSpec> = Vec::new();
    for name in names {
        let new = named(name)?.into_iter().filter(|check| !found.iter().any(|c| c.is(check)));
        let new: Vec<_> = new.collect();
        found.extend(new);
    }
    Ok(found)
}

/// What the engine does for these checks.
pub(super) fn plan(profile: &Profile, checks: &[&'static CheckSpec]) -> Plan {
    let runs = |spec: &CheckSpec| checks.iter().any(|check| check.id == spec.id);
    let cohort: Vec<_> = of_sessions().filter(|check| runs(check.spec())).collect();
    Plan {
        checks: of_episodes().filter(|check| runs(check.spec())).collect(),
        sketch: cohort.iter().any(|check| check.looks_at_motion),
        cohort,
        params: profile.params.clone(),
        limits: profile.limits.clone(),
        keep_readings: true,
    }
}

/// What the engine does for a comparison: no check across episodes, but a sketch of each motion.
pub(super) fn plan_to_compare(profile: &Profile) -> Plan {
    let skips = |spec: &CheckSpec| profile.skip.contains(&spec.id);
    Plan {
        checks: of_episodes().filter(|check| !skips(check.spec())).collect(),
        cohort: Vec::new(),
        params: profile.params.clone(),
        limits: profile.limits.clone(),
        keep_readings: false,
        sketch: true,
    }
}
