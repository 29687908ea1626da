//! What a check is: a value that holds its declaration and the function that measures.

use super::params::Params;
use super::session_sheet::CohortSheet;
use super::study::Study;
use crate::model::{CheckSpec, Extra, Ledger, Rig, Sheet};

/// Measures one episode.
type OfEpisode = fn(&Study<'_>, &Params, &mut Sheet);
/// Measures a session.
type OfSession = fn(&Ledger, &Params, &mut CohortSheet<'_>);

/// What a check looks at.
#[derive(Debug, Clone, Copy)]
pub enum Kind {
    /// The frames of one episode.
    Episode(OfEpisode),
    /// The measurements of all episodes of a session.
    Session(OfSession),
}

/// A check. It reads an episode or a session and writes down measurements; it judges nothing.
#[derive(Debug)]
pub struct Check {
    /// What the check declares of itself.
    pub spec: &'static CheckSpec,
    /// What it looks at, and the function that measures it.
    pub kind: Kind,
    /// Optional columns that it looks at where the table has them.
    pub extras: &'static [Extra],
    /// Whether it looks at the sketches of motion in the ledger, which cost time to draw.
    pub looks_at_motion: bool,
    /// Whether it writes nothing but readings of single episodes that nobody judges. Then it need
    /// not run where nobody reads those.
    pub only_readings: bool,
    /// Whether it looks at the form in which the data is stored, which nothing on the rig can help.
    pub of_storage: bool,
    without: Option<fn(&Rig) -> Option<&'static str>>,
}

impl Check {
    const fn new(spec: &'static CheckSpec, kind: Kind) -> Self {
        let (extras, looks_at_motion, only_readings) = (&[], false, false);
        let (of_storage, without) = (false, None);
        Self { spec, kind, extras, looks_at_motion, only_readings, of_storage, without }
    }

    /// A check of one episode.
    #[must_use]
    pub const fn of_episode(spec: &'static CheckSpec, measure: OfEpisode) -> Self {
        Self::new(spec, Kind::Episode(measure))
    }

    /// A check of a session.
    #[must_use]
    pub const fn of_session(spec: &'static CheckSpec, measure: OfSession) -> Self {
        Self::new(spec, Kind::Session(measure))
    }

    /// The same, with optional columns that it looks at.
    #[must_use]
    pub const fn extras(mut self, extras: &'static [Extra]) -> Self {
        self.extras = extras;
        self
    }

    /// The same, left out on a rig that lacks what it looks at; the function says what is missing.
    #[must_use]
    pub const fn without(mut self, without: fn(&Rig) -> Option<&'static str>) -> Self {
        self.without = Some(without);
        self
    }

    /// The same, with a look at the sketches of motion.
    #[must_use]
    pub const fn looking_at_motion(mut self) -> Self {
        self.looks_at_motion = true;
        self
    }

    /// The same, for a check whose readings nobody judges.
    #[must_use]
    pub const fn only_readings(mut self) -> Self {
        self.only_readings = true;
        self
    }

    /// The same, for a check of the form in which the data is stored.
    #[must_use]
    pub const fn of_storage(mut self) -> Self {
        self.of_storage = true;
        self
    }

    /// What the check declares of itself.
    pub const fn spec(&self) -> &'static CheckSpec {
        self.spec
    }

    /// Whether it reads single episodes.
    pub const fn reads_episodes(&self) -> bool {
        matches!(self.kind, Kind::Episode(_))
    }

    /// What this rig lacks, if that leaves nothing to look at. The check is then left out and is
    /// not listed as not assessed.
    pub fn left_out(&self, rig: &Rig) -> Option<&'static str> {
        self.without.and_then(|without| without(rig))
    }

    /// Why the actions of this rig are not what the check needs; none where they are.
    pub fn lacks(&self, rig: &Rig) -> Option<&'static str> {
        rig.actions.kind.lacks(self.spec.needs)
    }

    /// Measures one episode, if its actions are what the check needs. A check of sessions writes
    /// nothing.
    pub fn measure(&self, study: &Study<'_>, params: &Params, sheet: &mut Sheet) {
        let Kind::Episode(measure) = self.kind else { return };
        match self.lacks(&study.episode.rig) {
            Some(reason) => sheet.not_assessed(reason),
            None => measure(study, params, sheet),
        }
    }

    /// Measures a session. A check of episodes writes nothing.
    pub fn measure_session(&self, ledger: &Ledger, params: &Params, sheet: &mut CohortSheet<'_>) {
        if let Kind::Session(measure) = self.kind {
            measure(ledger, params, sheet);
        }
    }
}
