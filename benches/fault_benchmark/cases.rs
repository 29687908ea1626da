//! What is planted: for each check at the severities it can give. At fail severity a fault is one
//! and a half to two times the fail limit, at warn severity about half way between the limits.

use teleassay::demo::{Fault, Recipe};
use teleassay::model::Episode;

use super::rigs::Spot;
use super::sizes::{self, Size};
use super::trial::Seen;

mod advisory;
mod beside;
mod hard;
mod mild;

/// What a fault deserves.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Grade {
    /// A hard check must fail it.
    Fail,
    /// A hard check must at least warn.
    Warn,
    /// An advisory check must warn.
    Advisory,
    /// The check judges nothing by itself: its reading must tell the fault from its sound twin.
    Reported,
    /// Nothing is wrong: only sizes are held against the truth.
    Sound,
}

/// One fault at one severity.
pub struct Case {
    /// The check that should name it.
    pub check: &'static str,
    /// What it deserves.
    pub grade: Grade,
    /// What is planted, in words.
    pub what: &'static str,
    /// Joints that take turns; none if the fault affects the whole rig.
    pub joints: &'static [&'static str],
    /// The faulty recipe.
    pub plant: fn(&Spot) -> Recipe,
    /// What is added to the recording: columns that the simulated rig has not.
    pub beside: Option<fn(&Spot, &mut Episode)>,
    /// Fewest events that make it a fault.
    pub least: usize,
    /// Checks that may name it instead, as the data cannot tell the two.
    pub or: &'static [&'static str],
    /// How a reading that nobody judges shows it.
    pub reported: Option<fn(&Seen) -> bool>,
    /// The measurement that shows it, where the check has others that do not.
    pub metric: Option<&'static str>,
    /// What size is held against the truth.
    pub size: Option<Size>,
}

/// The joints of an arm that the task moves well.
pub const ARM: &[&str] = &["waist", "shoulder", "elbow", "wrist_pitch"];
/// Those without a load to droop under.
pub const UNLOADED: &[&str] = &["waist", "wrist_pitch"];

impl Case {
    const fn new(
        check: &'static str,
        grade: Grade,
        what: &'static str,
        plant: fn(&Spot) -> Recipe,
    ) -> Self {
        Self {
            check,
            grade,
            what,
            joints: &[],
            plant,
            beside: None,
            least: 1,
            or: &[],
            reported: None,
            metric: None,
            size: None,
        }
    }

    const fn on(mut self, joints: &'static [&'static str]) -> Self {
        self.joints = joints;
        self
    }

    const fn beside(mut self, beside: fn(&Spot, &mut Episode)) -> Self {
        self.beside = Some(beside);
        self
    }

    const fn sized(mut self, size: Size) -> Self {
        self.size = Some(size);
        self
    }

    const fn by(mut self, metric: &'static str) -> Self {
        self.metric = Some(metric);
        self
    }

    const fn at_least(mut self, least: usize) -> Self {
        self.least = least;
        self
    }

    const fn or(mut self, or: &'static [&'static str]) -> Self {
        self.or = or;
        self
    }

    const fn reported(mut self, reported: fn(&Seen) -> bool) -> Self {
        self.reported = Some(reported);
        self
    }

    /// Whether the sound twin is needed.
    pub const fn beside_sound(&self) -> bool {
        self.reported.is_some() || self.size.is_some()
    }
}

/// Plants one fault in the sound recipe.
fn with(spot: &Spot, fault: Fault) -> Recipe {
    let joint = if fault.needs_joint() { spot.joint.as_deref() } else { None };
    spot.sound.clone().with(fault, joint, &[])
}

/// Plants a fault that may affect one joint or all, on the joint.
fn on_joint(spot: &Spot, fault: Fault) -> Recipe {
    spot.sound.clone().with(fault, spot.joint.as_deref(), &[])
}

/// All cases, hard ones first.
pub fn all() -> Vec<Case> {
    let sound =
        |what, size: Size, plant| Case::new("", Grade::Sound, what, plant).sized(size).at_least(0);
    let mut all = hard::cases();
    all.extend(mild::cases());
    all.extend(advisory::cases());
    all.extend(beside::cases());
    all.push(sound("sound rigs, lag", sizes::LAG_WITHOUT_BACKLASH, |s| s.sound.clone()));
    all.push(sound("sound rigs, plain lag", sizes::PLAIN_LAG, |s| s.sound.clone()));
    all.push(sound("no backlash", sizes::PLAIN_LAG_WITHOUT_BACKLASH, |s| {
        let mut recipe = s.sound.clone();
        recipe.servo.backlash_deg = 0.0;
        recipe
    }));
    all.push(sound("sound rigs, backlash", sizes::BACKLASH, |s| s.sound.clone()));
    all
}
