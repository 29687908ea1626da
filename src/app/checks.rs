//! Which checks run.

use crate::app::AppError;
use crate::catalogue::{of_episodes, of_sessions, specs};
use crate::engine::Plan;
use crate::model::CheckSpec;
use crate::profile::{Profile, nearest};

/// Which checks to run. By default all that the profile does not skip.
#[derive(Debug, Clone, Default)]
pub struct Choice {
    /// Ids of the only checks to run, even if the profile skips them.
    pub only: Vec<String>,
    /// Ids of checks to leave out.
    pub skip: Vec<String>,
}

/// Every check that exists, in the order in which a person reads them.
pub fn all() -> Vec<&'static CheckSpec> {
    specs().collect()
}

/// The check with this id.
///
/// # Errors
/// If there is none; the hint names the nearest one.
pub fn find(id: &str) -> Result<&'static CheckSpec, AppError> {
    let all = all();
    all.iter().copied().find(|check| check.id == id).ok_or_else(|| {
        let hint = nearest(id, all.iter().map(|check| check.id)).map_or_else(
            || "`teleassay explain` lists the checks".to_owned(),
            |near| format!("did you mean \"{near}\"?"),
        );
        AppError::input(format!("there is no check \"{id}\"")).with_hint(hint)
    })
}

impl Choice {
    /// Checks that run, in the order in which a person reads them.
    pub(super) fn under(&self, profile: &Profile) -> Result<Vec<&'static CheckSpec>, AppError> {
        let ids = |ids: &[String]| -> Result<Vec<&'static str>, AppError> {
            ids.iter().map(|id| Ok(find(id.trim())?.id)).collect()
        };
        let (only, mut skip) = (ids(&self.only)?, ids(&self.skip)?);
        skip.extend(&profile.skip);
        let runs = |id: &&'static str| {
            if only.is_empty() { !skip.contains(id) } else { only.contains(id) }
        };
        Ok(all().into_iter().filter(|check| runs(&check.id)).collect())
    }
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
