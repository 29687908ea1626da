//! What to measure and how to judge it.

use crate::catalogue;
use crate::check::{Check, Params};
use crate::judge::Limits;
use crate::model::{Extra, Rig};

/// What to measure and how to judge it.
#[derive(Clone)]
pub struct Plan {
    /// The checks to run on each episode.
    pub checks: Vec<&'static Check>,
    /// The checks to run on the session.
    pub cohort: Vec<&'static Check>,
    /// Parameters in force.
    pub params: Params,
    /// Limits in force.
    pub limits: Limits,
    /// Whether cards keep their readings, and what was not assessed, after judging.
    pub keep_readings: bool,
    /// Whether the ledger keeps a sketch of each episode's motion: for cohort checks that look at
    /// it, and for whoever stores the ledger.
    pub sketch: bool,
}

impl Plan {
    /// The same for a rig: on its linear joints limits are in metres.
    #[must_use]
    pub fn of_rig(&self, rig: &Rig) -> Self {
        Self { limits: self.limits.of_rig(rig), ..self.clone() }
    }

    /// Optional columns that its checks look at.
    pub fn extras(&self) -> Vec<Extra> {
        let mut kinds: Vec<Extra> = self.checks.iter().flat_map(|c| c.extras).copied().collect();
        kinds.sort_unstable();
        kinds.dedup();
        kinds
    }
}

impl Default for Plan {
    fn default() -> Self {
        Self {
            checks: catalogue::of_episodes().collect(),
            cohort: catalogue::of_sessions().collect(),
            params: Params::default(),
            limits: Limits::default(),
            keep_readings: false,
            sketch: true,
        }
    }
}
