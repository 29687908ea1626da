//! Whole sessions through the engine: sound ones for false alarms, and one odd episode among
//! sound ones for the checks that look at all episodes together.

use std::collections::BTreeMap;
use std::error::Error;
use std::sync::Arc;

use teleassay::demo::{Fault, Recipe, simulate};
use teleassay::engine::{self, Plan, Workers};
use teleassay::model::{Episode, Outcome, Rig, Severity, Verdict};

use super::rigs::Spot;
use crate::memory::Memory;

/// Episodes of a session.
pub const EPISODES: u64 = 12;
/// Episodes of a session with an odd one: the distances of fewer tell little.
const WITH_ODD_ONE: u64 = 30;

/// Audits the episodes of several recipes for one rig, one after the other.
fn audit(recipes: &[Recipe]) -> Result<(Outcome, Arc<Rig>), Box<dyn Error + Send + Sync>> {
    let mut recordings = Vec::new();
    for recipe in recipes {
        recordings.extend(simulate(recipe)?);
    }
    let rig = Arc::new(recipes[0].surveyed_rig(&recordings));
    let numbered = recordings.iter().enumerate().map(|(index, recording)| {
        let mut episode = recording.episode(&rig);
        episode.key.index = (index as u64).into();
        episode
    });
    let episodes: Vec<Episode> = numbered.collect();
    let memory = Memory::new(&rig, &episodes, episodes.len());
    let alone = Workers::start(Some(1))?;
    let plan = Plan { keep_readings: true, ..Plan::default() };
    Ok((engine::audit(&memory, &plan, &alone, &mut |_| {}), rig))
}

/// What was said of sound sessions.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Alarms {
    /// Sessions and episodes looked at.
    pub sessions: usize,
    /// Episodes looked at.
    pub episodes: usize,
    /// Episodes with a failure.
    pub failed: usize,
    /// Episodes with a warning and no failure.
    pub warned: usize,
    /// Sessions with a finding of their own.
    pub sessions_found: usize,
    /// Episodes that a check failed and warned of.
    pub by_check: BTreeMap<&'static str, (usize, usize)>,
    /// Readings by check: suppress must not come from not looking.
    pub assessed: BTreeMap<&'static str, usize>,
    /// What was said, for those who look into it.
    pub reported: Vec<String>,
}

impl Alarms {
    /// Audits a sound session.
    pub fn of(turn: usize) -> Result<Self, String> {
        let mut recipe = Spot::new(turn, 900_000, &[]).sound;
        recipe.episodes = EPISODES;
        let (outcome, rig) = audit(&[recipe.clone()]).map_err(|error| error.to_string())?;
        let mut alarms = Self {
            sessions: 1,
            episodes: outcome.cards.len(),
            sessions_found: usize::from(!outcome.session.findings.is_empty()),
            ..Self::default()
        };
        let what = format!(
            "{} Hz, {} joints, {}/turn {}",
            recipe.rate_hz,
            recipe.joints,
            recipe.counts_per_turn,
            rig.unit.name()
        );
        for finding in &outcome.session.findings {
            let joint = finding.joint.map_or("", |joint| rig.joint_name(joint));
            let (metric, value) = (finding.metric.id, finding.value);
            alarms.reported.push(format!("{what}, session: {metric} {joint} {value:.4}"));
        }
        for card in &outcome.cards {
            alarms.failed += usize::from(card.verdict == Verdict::Fail);
            alarms.warned += usize::from(card.verdict == Verdict::Warn);
            let mut worst: BTreeMap<&'static str, Severity> = BTreeMap::new();
            for finding in &card.findings {
                let known = worst.entry(finding.check.id).or_insert(finding.severity);
                *known = finding.severity.max(*known);
                let joint = finding.joint.map_or("", |joint| rig.joint_name(joint));
                let reported = (finding.severity, finding.metric.id, joint, finding.value);
                let (severity, metric, joint, value) = reported;
                let note = &finding.note;
                let line = format!("{severity:?} {metric} {joint} {value:.4} {note}");
                alarms.reported.push(format!("{what}, {}: {line}", card.key.id));
            }
            for (check, severity) in worst {
                let count = alarms.by_check.entry(check).or_default();
                match severity {
                    Severity::Fail => count.0 += 1,
                    Severity::Warn => count.1 += 1,
                }
            }
            let mut read: Vec<&'static str> = card.readings.iter().map(|r| r.check.id).collect();
            read.sort_unstable();
            read.dedup();
            for check in read {
                *alarms.assessed.entry(check).or_default() += 1;
            }
        }
        Ok(alarms)
    }

    /// Adds what was said of other sessions.
    pub fn add(&mut self, other: Self) {
        self.sessions += other.sessions;
        self.episodes += other.episodes;
        self.failed += other.failed;
        self.warned += other.warned;
        self.sessions_found += other.sessions_found;
        for (check, (failed, warned)) in other.by_check {
            let count = self.by_check.entry(check).or_default();
            *count = (count.0 + failed, count.1 + warned);
        }
        for (check, episodes) in other.assessed {
            *self.assessed.entry(check).or_default() += episodes;
        }
        self.reported.extend(other.reported);
    }
}

/// Something odd in a session of sound episodes.
pub struct Odd {
    /// The check that should name it.
    pub check: &'static str,
    /// What is planted.
    pub what: &'static str,
    /// Joints that take turns; none if it affects the whole rig.
    joints: &'static [&'static str],
    /// The session, the number of the odd episode given.
    plant: fn(&Spot, u64) -> Vec<Recipe>,
    /// Whether it is a matter of the session and not of that episode.
    of_session: bool,
}

/// Plants a fault in some episodes of the session.
fn with(spot: &Spot, fault: Fault, episodes: &[u64]) -> Vec<Recipe> {
    let sound = Recipe { episodes: WITH_ODD_ONE, ..spot.sound.clone() };
    vec![sound.with(fault, spot.joint.as_deref(), episodes)]
}

/// All of them.
pub const ODD: &[Odd] = &[
    Odd {
        check: "outlier-episode",
        what: "a plug taken to a far tray, one episode of 30",
        joints: &[],
        plant: |s, at| with(s, Fault::Outlier { reach: 2.6 }, &[at]),
        of_session: false,
    },
    Odd {
        check: "path-outlier",
        what: "a plug taken to a far tray, one episode of 30",
        joints: &[],
        plant: |s, at| with(s, Fault::Outlier { reach: 2.6 }, &[at]),
        of_session: false,
    },
    Odd {
        check: "start-pose",
        what: "a joint 20 degrees off its usual start, one episode of 30",
        joints: &["elbow"],
        plant: |s, at| with(s, Fault::NeutralOffset { deg: 20.0 }, &[at]),
        of_session: false,
    },
    Odd {
        check: "duplicate-episode",
        what: "the episode before once more, one of 30",
        joints: &[],
        plant: |s, at| with(s, Fault::DuplicateEpisode { of: (at + 29) % 30 }, &[at]),
        of_session: false,
    },
    Odd {
        check: "constant-dimension",
        what: "a joint that the task never uses, all 30 episodes",
        joints: &["waist"],
        plant: |s, _| with(s, Fault::UnusedJoint, &[]),
        of_session: true,
    },
    Odd {
        check: "missing-grasp",
        what: "jaws that close on nothing, one episode of 30",
        joints: &[],
        plant: |s, at| with(s, Fault::NoGrasp, &[at]),
        of_session: false,
    },
    Odd {
        check: "contact-outlier",
        what: "something that stops a joint 20 degrees early, one episode of 30",
        joints: &["waist"],
        plant: |s, at| with(s, Fault::LimitDwell { push_deg: 20.0, stop_deg: Some(-12.0) }, &[at]),
        of_session: false,
    },
    Odd {
        check: "stick-slip-outlier",
        what: "a joint that sticks and slips, one episode of 30",
        joints: &["waist"],
        plant: |s, at| with(s, Fault::StickSlip { deg: 3.0 }, &[at]),
        of_session: false,
    },
    Odd {
        check: "motion-outlier",
        what: "a hand that searches, one episode of 30",
        joints: &[],
        plant: |s, at| with(s, Fault::Searching { deg: 12.0 }, &[at]),
        of_session: false,
    },
    Odd {
        check: "duration-outlier",
        what: "broken off after 2.5 s, one episode of 30",
        joints: &[],
        plant: |s, at| with(s, Fault::Aborted { seconds: 2.5 }, &[at]),
        of_session: false,
    },
    Odd {
        check: "mixed-endings",
        what: "12 of 30 episodes end on the way",
        joints: &[],
        plant: |s, _| with(s, Fault::CutShort, &(9..21).collect::<Vec<u64>>()),
        of_session: true,
    },
    Odd {
        check: "mixed-speeds",
        what: "20 episodes, and 20 at 1.9 times the pace",
        joints: &[],
        plant: |s, _| {
            let slow = Recipe { episodes: 20, ..s.sound.clone() };
            let mut fast = Recipe { seed: slow.seed + 1_000, ..slow.clone() };
            fast.operator.pace *= 1.9;
            vec![slow, fast]
        },
        of_session: true,
    },
    Odd {
        check: "session-drift",
        what: "a horn that slips by 1.8 degrees, at the 17th episode of 30",
        joints: super::cases::UNLOADED,
        plant: |s, _| {
            let late: Vec<u64> = (16..WITH_ODD_ONE).collect();
            with(s, Fault::NeutralOffset { deg: 1.8 }, &late)
        },
        of_session: true,
    },
    Odd {
        check: "session-drift",
        what: "a bus slower by 40 ms, from the 17th episode of 30 on",
        joints: &[],
        plant: |s, _| {
            let late: Vec<u64> = (16..WITH_ODD_ONE).collect();
            with(s, Fault::LagAll { ms: 40.0 }, &late)
        },
        of_session: true,
    },
];

impl Odd {
    /// Whether the oddity of a session is named, and what else was said.
    pub fn found(&self, turn: usize) -> Result<(bool, String), String> {
        let spot = Spot::new(turn, 800_000, self.joints);
        // Never the first: of two copies the later one is named.
        let at = (turn as u64 % WITH_ODD_ONE).max(1);
        let (outcome, rig) = audit(&(self.plant)(&spot, at)).map_err(|error| error.to_string())?;
        let mut reported: Vec<String> = Vec::new();
        for finding in &outcome.session.findings {
            let joint = finding.joint.map_or("", |joint| rig.joint_name(joint));
            reported.push(format!(
                "{} {joint} {:.4} {}",
                finding.metric.id, finding.value, finding.note
            ));
        }
        let of_session = outcome.session.findings.iter().any(|f| f.check.id == self.check);
        let cards = || outcome.cards.iter().filter(|card| card.key.index.get() == at);
        for finding in cards().flat_map(|card| &card.findings) {
            reported
                .push(format!("{at}: {} {:.4} {}", finding.metric.id, finding.value, finding.note));
        }
        for read in cards().flat_map(|c| &c.readings).filter(|r| r.check.id == self.check) {
            let joint = read.joint.map_or("", |joint| rig.joint_name(joint));
            reported.push(format!("{} {joint} reads {:.3}", read.metric.id, read.value));
        }
        let of_episode = cards().flat_map(|c| &c.findings).any(|f| f.check.id == self.check)
            // Found, and reported as another check's finding.
            || cards()
                .flat_map(|c| &c.suppressed)
                .any(|s| s.follows() && s.check.id == self.check);
        let found = if self.of_session { of_session } else { of_episode };
        Ok((found, format!("session {turn}: {}", reported.join("; "))))
    }
}
