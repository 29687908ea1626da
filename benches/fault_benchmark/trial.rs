//! One episode through all checks, with the truth.

use std::sync::Arc;

use teleassay::catalogue::of_episodes;
use teleassay::check::{Params, Study, settings};
use teleassay::demo::{DemoError, Fault, Recipe, Recording, Simulator};
use teleassay::judge::{Limits, findings, suppress};
use teleassay::model::{Episode, Finding, Reading, Rig, Severity, Sheet};

use super::cases::{Case, Grade};
use super::rigs::Spot;

/// All that the checks say of one recording.
pub struct Card {
    /// What was recorded, and what really happened.
    pub recording: Recording,
    /// The rig, surveyed.
    pub rig: Arc<Rig>,
    /// Everything read.
    pub readings: Vec<Reading>,
    /// Everything beyond a limit, suppressed findings left out.
    pub findings: Vec<Finding>,
}

impl Card {
    /// Simulates the recipe's first episode, changes it, and measures it.
    pub fn of(recipe: &Recipe, change: impl Fn(&mut Episode)) -> Result<Self, DemoError> {
        let recording = Simulator::new(recipe)?.episode(0);
        let rig = Arc::new(recipe.surveyed_rig(std::slice::from_ref(&recording)));
        let mut episode = recording.episode(&rig);
        change(&mut episode);
        let study = Study::new(&episode, settings(&Params::default()));
        let mut readings = Vec::new();
        for check in of_episodes() {
            let mut sheet = Sheet::new(check.spec());
            check.measure(&study, &Params::default(), &mut sheet);
            readings.extend(sheet.into_parts().0);
        }
        let mut findings = findings(&readings, &Limits::default());
        suppress(&mut findings);
        Ok(Self { recording, rig, readings, findings })
    }

    /// A reading of the episode, or of a joint.
    pub fn value(&self, metric: &str, joint: Option<u16>) -> Option<f64> {
        let wanted = |r: &&Reading| r.metric.id == metric && r.joint == joint;
        self.readings.iter().find(wanted).map(|r| r.value)
    }

    /// How many frames, values or events were planted.
    pub fn planted(&self) -> usize {
        self.recording.truth.answers.iter().map(|answer| answer.count).min().unwrap_or(0)
    }

    /// The findings as a person would tell them to another.
    pub fn reported(&self) -> String {
        let tell = |f: &Finding| {
            let joint = f.joint.map_or("", |j| self.rig.joint_name(j));
            format!("{:?} {} {joint} {:.4}", f.severity, f.metric.id, f.value)
        };
        self.findings.iter().map(tell).collect::<Vec<_>>().join("; ")
    }
}

/// A planted fault and its sound twin.
pub struct Seen {
    /// Where it was planted.
    pub spot: Spot,
    /// With the fault.
    pub faulty: Card,
    /// The same hand and rig without it.
    pub sound: Option<Card>,
}

impl Seen {
    /// A reading on the joint concerned.
    pub fn on_joint(&self, metric: &str) -> Option<f64> {
        self.faulty.value(metric, Some(self.spot.place()?))
    }

    /// The same of the sound twin.
    pub fn on_sound_joint(&self, metric: &str) -> Option<f64> {
        self.sound.as_ref()?.value(metric, Some(self.spot.place()?))
    }
}

/// How a trial went.
#[derive(Debug, Clone, PartialEq)]
pub struct Trial {
    /// Whether there was anything to find: some faults need motion that this episode has not.
    pub planted: bool,
    /// Whether the check could look.
    pub assessed: bool,
    /// Whether it spoke up at the severity that the fault deserves.
    pub found: bool,
    /// Whether the joint it names first is the right one, where one was planted.
    pub right_joint: Option<bool>,
    /// Errors of size against the truth.
    pub errors: Vec<f64>,
    /// What was said, for those who look into a miss.
    pub reported: String,
}

/// Plants a case on the rig of a repetition and holds what is said against it.
pub fn run(case: &Case, turn: usize) -> Result<Trial, DemoError> {
    let spot = Spot::new(turn, seed(case), case.joints);
    let faulty = Card::of(&(case.plant)(&spot), |episode| {
        if let Some(beside) = case.beside {
            beside(&spot, episode);
        }
    })?;
    let sound = case.beside_sound().then(|| Card::of(&spot.sound, |_| {})).transpose()?;
    let seen = Seen { spot, faulty, sound };
    let place = seen.spot.place();
    let card = &seen.faulty;
    let judged = |r: &&Reading| {
        r.check.id == case.check
            && case.metric.is_none_or(|metric| r.metric.id == metric)
            && (r.joint.is_none() || place.is_none() || r.joint == place)
    };
    let least = if case.grade == Grade::Fail { Severity::Fail } else { Severity::Warn };
    let named = |f: &&Finding| {
        f.severity >= least && (f.check.id == case.check || case.or.contains(&f.check.id))
    };
    let first = card.findings.iter().find(named);
    let partner = partner(&seen);
    let right = |f: &Finding| f.joint == place || (partner.is_some() && f.joint == partner);
    let found = case.reported.map_or(first.is_some(), |reported| reported(&seen));
    let rig = &card.rig;
    let what = format!(
        "{} Hz, {} joints, {}/turn {}, {}",
        seen.spot.rate_hz(),
        rig.joints.len(),
        seen.spot.sound.counts_per_turn,
        rig.unit.name(),
        seen.spot.joint.as_deref().unwrap_or("all")
    );
    Ok(Trial {
        planted: card.planted() >= case.least,
        assessed: card.readings.iter().any(|r| judged(&r)),
        found,
        right_joint: first.filter(|f| place.is_some() && f.joint.is_some()).map(right),
        errors: case.size.as_ref().map_or_else(Vec::new, |size| (size.of)(&seen)),
        reported: format!("{what}: {}", card.reported()),
    })
}

/// The other of two exchanged joints.
fn partner(seen: &Seen) -> Option<u16> {
    let exchanged = seen.faulty.recording.truth.answers.iter().find_map(|a| match &a.fault {
        Fault::SwappedJoints { with } => Some(with.clone()),
        _ => None,
    })?;
    let joints = &seen.faulty.rig.joints;
    joints.iter().position(|joint| joint.name == exchanged).map(|place| place as u16)
}

/// A seed of its own for each case, which stays when others come and go (FNV-1a).
fn seed(case: &Case) -> u64 {
    let letters = case.check.bytes().chain(case.what.bytes());
    let mixed = letters.fold(0xcbf2_9ce4_8422_2325u64, |hash, letter| {
        (hash ^ u64::from(letter)).wrapping_mul(0x0100_0000_01b3)
    });
    (mixed >> 16) & 0xffff_ff00
}
