//! Whole sessions through the engine: sound ones for false alarms, and one odd episode among
//! sound ones for the checks that look at all episodes together.

use std::collections::BTreeMap;
use std::error::Error;
use std::sync::Arc;

use teleassay::demo::{Fault, Recipe, simulate};
use teleassay::engine::{self, Plan, Workers};
use teleassay::model::{Episode, Outcome, Rig, Severity, Unread, Verdict};
use teleassay::source::{Input, RoleChoice, Source};

use super::rigs::Spot;

/// Episodes of a session.
pub const EPISODES: u64 = 12;
/// Episodes of a session with an odd one: the distances of fewer tell little.
const WITH_ODD_ONE: u64 = 30;

/// A session that lies in memory, in one piece.
struct Memory {
    rig: Arc<Rig>,
    episodes: Vec<Episode>,
}

impl Memory {
    fn of(recipe: &Recipe) -> Result<Self, Box<dyn Error + Send + Sync>> {
        let recordings = simulate(recipe)?;
        let rig = Arc::new(recipe.surveyed_rig(&recordings));
        let episodes = recordings.iter().map(|recording| recording.episode(&rig)).collect();
        Ok(Self { rig, episodes })
    }
}

impl Source for Memory {
    fn rig(&self) -> &Arc<Rig> {
        &self.rig
    }

    fn roles(&self) -> &[RoleChoice] {
        &[]
    }

    fn inputs(&self) -> &[Input] {
        &[]
    }

    fn unread(&self) -> &[Unread] {
        &[]
    }

    fn episodes(&self) -> u64 {
        self.episodes.len() as u64
    }

    fn shards(&self) -> usize {
        1
    }

    fn read(&self, _: usize, visit: &mut dyn FnMut(&Episode)) -> Vec<Unread> {
        self.episodes.iter().for_each(visit);
        Vec::new()
    }
}

fn audit(recipe: &Recipe) -> Result<(Outcome, Arc<Rig>), Box<dyn Error + Send + Sync>> {
    let memory = Memory::of(recipe)?;
    let alone = Workers::start(Some(1))?;
    let plan = Plan { keep_readings: true, ..Plan::default() };
    Ok((engine::audit(&memory, &plan, &alone, &mut |_| {}), memory.rig))
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
    /// Readings by check: silence must not come from not looking.
    pub assessed: BTreeMap<&'static str, usize>,
    /// What was said, for those who look into it.
    pub told: Vec<String>,
}

impl Alarms {
    /// Audits a sound session.
    pub fn of(turn: usize) -> Result<Self, String> {
        let mut recipe = Spot::new(turn, 900_000, &[]).sound;
        recipe.episodes = EPISODES;
        let (outcome, rig) = audit(&recipe).map_err(|error| error.to_string())?;
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
            alarms.told.push(format!("{what}, session: {metric} {joint} {value:.4}"));
        }
        for card in &outcome.cards {
            alarms.failed += usize::from(card.verdict == Verdict::Fail);
            alarms.warned += usize::from(card.verdict == Verdict::Warn);
            let mut worst: BTreeMap<&'static str, Severity> = BTreeMap::new();
            for finding in &card.findings {
                let known = worst.entry(finding.check.id).or_insert(finding.severity);
                *known = finding.severity.max(*known);
                let joint = finding.joint.map_or("", |joint| rig.joint_name(joint));
                let told = (finding.severity, finding.metric.id, joint, finding.value);
                let (severity, metric, joint, value) = told;
                let note = &finding.note;
                let line = format!("{severity:?} {metric} {joint} {value:.4} {note}");
                alarms.told.push(format!("{what}, {}: {line}", card.key.id));
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
        self.told.extend(other.told);
    }
}

/// An odd episode among sound ones.
pub struct Odd {
    /// The check that should name it.
    pub check: &'static str,
    /// What is planted.
    pub what: &'static str,
    /// The fault.
    fault: fn() -> Fault,
}

/// All of them.
pub const ODD: &[Odd] = &[
    Odd {
        check: "outlier-episode",
        what: "a plug taken to a far bench, one episode of 30",
        fault: || Fault::Outlier { reach: 2.6 },
    },
    Odd {
        check: "missing-grasp",
        what: "jaws that close on nothing, one episode of 30",
        fault: || Fault::NoGrasp,
    },
];

impl Odd {
    /// Whether the odd episode of a session is named.
    pub fn found(&self, turn: usize) -> Result<bool, String> {
        let mut recipe = Spot::new(turn, 800_000, &[]).sound;
        recipe.episodes = WITH_ODD_ONE;
        let at = turn as u64 % WITH_ODD_ONE;
        let faulty = recipe.with((self.fault)(), None, &[at]);
        let (outcome, _) = audit(&faulty).map_err(|error| error.to_string())?;
        let cards = outcome.cards.iter().filter(|card| card.key.index == at);
        Ok(cards.flat_map(|card| &card.findings).any(|f| f.check.id == self.check))
    }
}
