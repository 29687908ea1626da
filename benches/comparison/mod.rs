//! Does a comparison cry wolf, and does it find what is there: pairs of simulated sessions, through
//! the same engine as any audit. Both of one process; one with a planted change; and few episodes.

use std::collections::BTreeMap;
use std::error::Error;
use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};

use teleassay::compare::{Answer, Aspect, Comparison, Side, compare};
use teleassay::demo::{Fault, Recipe, StoredUnit, healthy, simulate};
use teleassay::engine::{self, Plan, Workers};
use teleassay::model::Episode;

use crate::memory::Memory;

type Failed = Box<dyn Error + Send + Sync>;

/// Sides of a simulated session, cut at these episodes: what lies before the first is the first.
pub fn sides(recipe: &Recipe, cuts: &[usize]) -> Result<Vec<Side>, Failed> {
    let recordings = simulate(recipe)?;
    let rig = Arc::new(recipe.surveyed_rig(&recordings));
    let all: Vec<Episode> = recordings.iter().map(|recording| recording.episode(&rig)).collect();
    drop(recordings);
    let plan = Plan { cohort: Vec::new(), ..Plan::default() };
    let alone = Workers::start(Some(1))?;
    let ends = cuts.iter().copied().chain([all.len()]);
    let mut from = 0;
    let mut sides = Vec::new();
    for end in ends {
        let memory = Memory::new(&rig, &all[from..end], end - from);
        let outcome = engine::audit(&memory, &plan, &alone, &mut |_| {});
        sides.push(Side {
            name: format!("{from}-{end}"),
            rig: Arc::clone(&rig),
            episodes: outcome.cards.iter().map(|card| card.key.id.clone()).collect(),
            ledger: outcome.ledger,
            leader: true,
        });
        from = end;
    }
    Ok(sides)
}

/// A sound rig with short episodes; every rate, size and resolution comes up in turn.
pub fn sound(turn: usize, episodes: u64) -> Recipe {
    let rate_hz = [30.0, 50.0, 25.0, 100.0][turn % 4];
    let joints = [6, 7, 8][turn % 3];
    let unit = [StoredUnit::Deg, StoredUnit::Rad][turn % 2];
    healthy(rate_hz, joints, unit, episodes, 70_000 + turn as u64)
}

/// What is planted in B.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Change {
    /// 2 degrees on one joint's neutral point.
    Offset,
    /// 10 % on one joint's range.
    Gain,
    /// 60 ms on every joint.
    Lag,
    /// The loop 10 % slower.
    Rate,
    /// The hand a quarter slower.
    Slower,
    /// The hand a quarter faster.
    Faster,
    /// The hand takes a quarter less time, the mirror image of slower.
    Sooner,
}

/// All of them.
pub const CHANGES: [Change; 7] = [
    Change::Offset,
    Change::Gain,
    Change::Lag,
    Change::Rate,
    Change::Slower,
    Change::Faster,
    Change::Sooner,
];

/// The joints that changes of one joint affect in turn.
const JOINTS: [&str; 3] = ["elbow", "shoulder", "waist"];

impl Change {
    /// In words.
    pub const fn what(self) -> &'static str {
        match self {
            Self::Offset => "2 degrees of offset on one joint",
            Self::Gain => "10 % of range on one joint",
            Self::Lag => "60 ms of lag on every joint",
            Self::Rate => "a loop 10 % slower",
            Self::Slower => "a hand that is 25 % slower",
            Self::Sooner => "a hand that takes 25 % less time",
            Self::Faster => "a hand that is 25 % faster",
        }
    }

    /// The aspect that should be called different.
    pub const fn aspect(self) -> Aspect {
        match self {
            Self::Offset => Aspect::Offset,
            Self::Gain => Aspect::Gain,
            Self::Lag => Aspect::Lag,
            Self::Rate => Aspect::Rate,
            Self::Slower | Self::Faster | Self::Sooner => Aspect::Speed,
        }
    }

    /// The joint it affects.
    fn joint(self, turn: usize) -> Option<&'static str> {
        matches!(self, Self::Offset | Self::Gain).then(|| JOINTS[turn % JOINTS.len()])
    }

    fn plant(self, recipe: Recipe, turn: usize) -> Recipe {
        let joint = self.joint(turn);
        match self {
            Self::Offset => recipe.with(Fault::NeutralOffset { deg: 2.0 }, joint, &[]),
            Self::Gain => recipe.with(Fault::GainMismatch { factor: 1.1 }, joint, &[]),
            Self::Lag => recipe.with(Fault::LagAll { ms: 60.0 }, None, &[]),
            Self::Rate => {
                let rate_hz = 0.9 * recipe.rate_hz;
                recipe.with(Fault::SlowLoop { rate_hz }, None, &[])
            }
            Self::Slower | Self::Faster | Self::Sooner => {
                let factor = match self {
                    Self::Slower => 0.75,
                    Self::Faster => 1.25,
                    _ => 1.0 / 0.75,
                };
                let mut recipe = recipe;
                recipe.operator.pace *= factor;
                recipe
            }
        }
    }

    /// Two sides, the second with the change in it.
    pub fn pair(self, turn: usize, episodes: u64) -> Result<(Side, Side), Failed> {
        let recipe = sound(turn, episodes);
        // The same rig and another hour: backlash and lag are drawn from the seed for each joint.
        let mut later = Recipe { seed: recipe.seed + 1_000_000, ..recipe.clone() };
        later.servo.between_joints = 0.0;
        let recipe = Recipe { servo: later.servo.clone(), ..recipe };
        let first = sides(&recipe, &[])?.pop().ok_or("no side")?;
        let second = sides(&self.plant(later, turn), &[])?.pop().ok_or("no side")?;
        Ok((first, second))
    }

    /// Whether the planted change is called different, on its joint; and on the rig nothing else
    /// is that does not follow from it.
    pub fn found(self, turn: usize, comparison: &Comparison) -> bool {
        let wanted = self.joint(turn);
        let mut rows = comparison.rows.iter().filter(|row| row.aspect == self.aspect());
        rows.any(|row| {
            let joint = row.joint.map(|at| comparison.pairs[at].name.as_str());
            matches!(row.answer, Answer::Different(_)) && (wanted.is_none() || joint == wanted)
        })
    }
}

/// Rows that were called different, in words.
pub fn different(comparison: &Comparison) -> Vec<String> {
    let rows = comparison.rows.iter().filter(|row| row.severity().is_some());
    rows.map(|row| {
        let joint = row.joint.map_or("", |at| comparison.pairs[at].name.as_str());
        let change = row.change.unwrap_or(0.0);
        format!("{} {joint} {change:.4} {:?}", row.aspect.id(), row.notes)
    })
    .collect()
}

/// What came of all trials.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Report {
    /// Pairs of one process, and how many were called different anywhere.
    pub alike: (usize, usize),
    /// The same with three episodes to a side.
    pub few: (usize, usize),
    /// By aspect: rows of pairs of one process, and how many were called the same.
    pub same: BTreeMap<Aspect, (usize, usize)>,
    /// The same with three episodes to a side.
    pub same_of_few: BTreeMap<Aspect, (usize, usize)>,
    /// By change: trials, found, and how many other rows of the rig were called different.
    pub changes: BTreeMap<Change, (usize, usize, usize)>,
    /// By change of the hand's pace: the change of the moving speed, as its logarithm.
    pub speeds: BTreeMap<Change, Vec<f64>>,
    /// What was said that should not have been, and what was missed.
    pub misses: Vec<String>,
}

/// One trial's part.
enum Trial {
    Alike(usize),
    Few(usize),
    Planted(Change, usize),
}

impl Report {
    /// Runs pairs of one process, pairs of three episodes each, and each change so many times, with
    /// seeds numbered from `from` on.
    pub fn run(alike: usize, few: usize, planted: usize, from: usize) -> Result<Self, String> {
        let mut trials: Vec<Trial> = (from..from + alike).map(Trial::Alike).collect();
        trials.extend((0..few).map(|turn| Trial::Few(from + 10_000 + turn)));
        for change in CHANGES {
            trials.extend((0..planted).map(|turn| Trial::Planted(change, from + 20_000 + turn)));
        }
        // Threads of their own: an engine within a pool of the engine would wait on itself.
        let threads = std::thread::available_parallelism().map_or(1, usize::from);
        let next = AtomicUsize::new(0);
        let work = || -> Result<Vec<(usize, Self)>, String> {
            let mut parts = Vec::new();
            loop {
                let at = next.fetch_add(1, Ordering::Relaxed);
                let Some(trial) = trials.get(at) else { return Ok(parts) };
                parts.push((at, trial.run().map_err(|error| error.to_string())?));
            }
        };
        let mut parts = Vec::new();
        std::thread::scope(|scope| {
            let all: Vec<_> = (0..threads).map(|_| scope.spawn(work)).collect();
            for thread in all {
                let done = thread.join().map_err(|_| "a trial panicked".to_owned())?;
                parts.extend(done?);
            }
            Ok::<(), String>(())
        })?;
        parts.sort_by_key(|(at, _)| *at);
        let mut report = Self::default();
        for (_, part) in parts {
            report.add(part);
        }
        Ok(report)
    }

    fn add(&mut self, part: Self) {
        self.alike = (self.alike.0 + part.alike.0, self.alike.1 + part.alike.1);
        self.few = (self.few.0 + part.few.0, self.few.1 + part.few.1);
        for (mine, theirs) in
            [(&mut self.same, part.same), (&mut self.same_of_few, part.same_of_few)]
        {
            for (aspect, (rows, same)) in theirs {
                let count = mine.entry(aspect).or_default();
                *count = (count.0 + rows, count.1 + same);
            }
        }
        for (change, (trials, found, others)) in part.changes {
            let count = self.changes.entry(change).or_default();
            *count = (count.0 + trials, count.1 + found, count.2 + others);
        }
        for (change, speeds) in part.speeds {
            self.speeds.entry(change).or_default().extend(speeds);
        }
        self.misses.extend(part.misses);
    }
}

impl Trial {
    fn run(&self) -> Result<Report, Failed> {
        let mut report = Report::default();
        match *self {
            Self::Alike(turn) | Self::Few(turn) => {
                let few = matches!(self, Self::Few(_));
                let n = if few { 3 } else { 20 };
                let sides = sides(&sound(turn, 2 * n), &[n as usize])?;
                let comparison = compare(&sides[0], &sides[1]);
                let different = different(&comparison);
                let count = (1, usize::from(!different.is_empty()));
                let same = if few { &mut report.same_of_few } else { &mut report.same };
                for row in comparison.rows.iter().filter(|row| row.measured()) {
                    let count = same.entry(row.aspect).or_default();
                    *count = (count.0 + 1, count.1 + usize::from(row.answer == Answer::Same));
                }
                report
                    .misses
                    .extend(different.iter().map(|row| format!("{turn}, {n} alike: {row}")));
                *(if few { &mut report.few } else { &mut report.alike }) = count;
            }
            Self::Planted(change, turn) => {
                let (a, b) = change.pair(turn, 20)?;
                let comparison = compare(&a, &b);
                let found = change.found(turn, &comparison);
                let bench = comparison.rows.iter().filter(|row| {
                    row.aspect.group() == teleassay::compare::Group::Rig
                        && row.severity().is_some()
                        && row.aspect != change.aspect()
                });
                report.changes.insert(change, (1, usize::from(found), bench.count()));
                let speed = comparison.rows.iter().find(|row| row.aspect == Aspect::Speed);
                if let (Aspect::Speed, Some(row)) = (change.aspect(), speed) {
                    report.speeds.insert(change, vec![row.change.unwrap_or(f64::NAN)]);
                }
                if !found {
                    let rows = comparison.rows.iter().filter(|row| row.aspect == change.aspect());
                    let seen: Vec<_> = rows.map(|r| (r.change, r.interval, r.p_adjusted)).collect();
                    report.misses.push(format!("{turn}, {} missed: {seen:?}", change.what()));
                }
            }
        }
        Ok(report)
    }
}
