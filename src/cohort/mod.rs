//! Checks that look at all episodes together.
//!
//! Floor 3: knows floors 0 to 2. Sees the ledger of measurements, never frames.

use std::borrow::Cow;

use crate::check::Params;
use crate::model::{CheckSpec, Ledger, NotAssessed, Reading, SessionReading};

mod action_consistency;
mod constant_dimension;
mod coverage;
mod duplicate;
mod duration_outlier;
mod missing_grasp;
mod mixed_endings;
mod mixed_speeds;
mod motion_outlier;
#[cfg(test)]
mod motions;
mod outlier;
mod path_outlier;
mod paths;
mod registry;
mod rows;
mod session_drift;
mod start_pose;
mod stick_slip_outlier;
mod task_label;
mod usual;

pub mod normalisation;

pub use registry::COHORT_CHECKS;
#[cfg(feature = "internals")]
pub use registry::find;

/// Takes a reading on one episode: its row, the reading, and what is particular to it.
type Take<'t> = &'t mut dyn FnMut(usize, Reading, String);

/// What a cohort check writes down.
#[derive(Default)]
pub struct CohortSheet<'t> {
    /// The readings on single episodes, as they were [told](Self::tell); empty where they are
    /// handed on.
    pub episodes: Vec<(usize, Reading, String)>,
    /// Readings on the session as a whole.
    pub session: Vec<SessionReading>,
    /// What could not be assessed.
    pub not_assessed: Vec<NotAssessed>,
    told: usize,
    take: Option<Take<'t>>,
}

impl<'t> CohortSheet<'t> {
    /// A sheet that hands each reading on an episode on at once: hundreds of thousands of them, a
    /// hundred and seventy bytes each, would weigh more than all that the checks look at.
    pub fn handing_on(take: Take<'t>) -> Self {
        Self { take: Some(take), ..Self::default() }
    }

    /// Writes down a reading on one episode of the ledger, by its row there, with what is
    /// particular to it: the features that drive it, as `metric` or `metric@joint` with the joint's
    /// index, joined by `, `; may be empty. `words#row` names another episode. Whoever knows the
    /// rig and the episodes turns indices into names.
    pub fn tell(&mut self, row: usize, reading: Reading, note: String) {
        self.told += 1;
        match &mut self.take {
            Some(take) => take(row, reading, note),
            None => self.episodes.push((row, reading, note)),
        }
    }

    /// How many readings on single episodes were told.
    pub fn told(&self) -> usize {
        self.told
    }

    /// Notes that a check could not be assessed on this session.
    pub fn not_assessed(
        &mut self,
        check: &'static CheckSpec,
        reason: impl Into<Cow<'static, str>>,
    ) {
        self.not_assessed.push(NotAssessed { check, joint: None, reason: reason.into() });
    }
}

/// An instrument over the session.
pub trait CohortCheck: Sync {
    /// What the check declares of itself.
    fn spec(&self) -> &'static CheckSpec;
    /// Whether it looks at the sketches of motion in the ledger, which cost time to draw.
    fn looks_at_motion(&self) -> bool {
        false
    }
    /// Whether all that it says are readings of single episodes that nobody judges: then it need not
    /// run where nobody reads those.
    fn only_readings(&self) -> bool {
        false
    }
    /// Measures the session.
    fn measure(&self, ledger: &Ledger, params: &Params, sheet: &mut CohortSheet);
}
