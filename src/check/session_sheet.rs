//! What a session check writes down.

use std::borrow::Cow;

use crate::model::{CheckSpec, METRES_A_RADIAN, NotAssessed, Reading, Rig, SessionReading};

/// Takes a reading on one episode: its row, the reading, and what is particular to it.
type Take<'t> = &'t mut dyn FnMut(usize, Reading, String);

/// What a session check writes down.
#[derive(Default)]
pub struct CohortSheet<'t> {
    /// The readings on single episodes, in the order of [`tell`](Self::tell). Empty where they are
    /// passed on.
    pub episodes: Vec<(usize, Reading, String)>,
    /// Readings on the session as a whole.
    pub session: Vec<SessionReading>,
    /// What could not be assessed.
    pub not_assessed: Vec<NotAssessed>,
    /// The rig of the session, where it is known.
    pub rig: Option<&'t Rig>,
    told: usize,
    take: Option<Take<'t>>,
}

impl<'t> CohortSheet<'t> {
    /// A sheet that passes each reading on an episode on at once. Hundreds of thousands of readings
    /// of 170 bytes each would need more memory than all that the checks look at.
    pub fn handing_on(take: Take<'t>) -> Self {
        Self { take: Some(take), ..Self::default() }
    }

    /// Writes down a reading on one episode of the ledger, by its row there, with a note. The note
    /// lists the features that drive the reading, as `metric` or `metric@joint` with the joint's
    /// index, joined by `, `; it may be empty. `words#row` names another episode. The caller knows
    /// the rig and the episodes, and turns indices into names.
    pub fn tell(&mut self, row: usize, reading: Reading, note: String) {
        self.told += 1;
        match &mut self.take {
            Some(take) => take(row, reading, note),
            None => self.episodes.push((row, reading, note)),
        }
    }

    /// What a radian is worth on a joint: metres on one that is known to be linear.
    pub fn length_of_radian(&self, joint: usize) -> f64 {
        let linear = self.rig.and_then(|rig| rig.joints.get(joint)).is_some_and(|j| j.linear);
        if linear { METRES_A_RADIAN } else { 1.0 }
    }

    /// How many readings on single episodes were reported.
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
