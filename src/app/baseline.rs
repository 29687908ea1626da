//! An earlier measurements file that an outcome is held against.

use std::path::PathBuf;

use crate::app::AppError;
use crate::engine::{self, Plan, Workers};
use crate::model::{Outcome, Rig};
use crate::store::{self, Stored};

/// Opens the baseline, before anything is measured that it does not fit.
pub(super) fn open(paths: &[PathBuf], rig: &Rig) -> Result<Option<Stored>, AppError> {
    if paths.is_empty() {
        return Ok(None);
    }
    let stored = store::read(paths)?;
    let names = |rig: &Rig| rig.joints.iter().map(|j| j.name.clone()).collect::<Vec<_>>();
    let (now, before) = (names(rig), names(stored.rig()));
    if now != before {
        let what = format!(
            "the baseline is of another rig: its joints are {}, those of the data {}",
            before.join(", "),
            now.join(", ")
        );
        return Err(AppError::input(what).with_hint("name a measurements file of the same rig"));
    }
    Ok(Some(stored))
}

/// Marks what the baseline had as well, judged under the same limits.
pub(super) fn mark(
    outcome: &mut Outcome,
    baseline: Option<&Stored>,
    plan: &Plan,
    workers: &Workers,
) -> Result<(), AppError> {
    if let Some(stored) = baseline {
        let before = engine::baseline(stored, plan, workers)?;
        outcome.known =
            Some(before.known(&outcome.cards, &outcome.contents, &outcome.session.findings));
    }
    Ok(())
}
