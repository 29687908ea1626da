//! How well the checks find planted faults, and how quiet they are without: the machinery behind
//! `benches/faults.rs` and the test of the same name.

mod cases;
mod rigs;
mod sessions;
mod sizes;
mod table;
mod trial;

use teleassay::catalogue;
use teleassay::engine::Workers;

pub use cases::Grade;
use sessions::{Alarms, ODD};
pub use sizes::Goal;
use trial::Trial;

/// The simulated rig has one task: labels are exchanged in the check's own file. What judges nothing
/// has no fault; that it measures right is tested in its own file too.
const ELSEWHERE: &[&str] = &["task-label", "action-consistency", "coverage", "orientation-jumps"];

/// Sessions handed to the workers together. Each has an engine of its own, and a worker that waits for
/// it takes up the next session on top of this one: hundreds would not fit on its stack.
const AT_ONCE: usize = 40;

/// Where a new check's faults go.
const CASES: &str = "benches/fault_benchmark/cases";

/// How much is run.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Scale {
    /// Number of the first trial and session: others are of other seeds.
    pub from: usize,
    /// Trials of each case.
    pub trials: usize,
    /// Sound sessions.
    pub sessions: usize,
    /// Sessions with an odd episode, for each check of the session.
    pub odd: usize,
}

impl Scale {
    /// What the tests run: every rate with every rig once.
    pub const SHORT: Self = Self { from: 0, trials: 20, sessions: 20, odd: 5 };
}

/// How a case went.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    /// The check.
    pub check: &'static str,
    /// What it deserves.
    pub grade: Grade,
    /// What was planted.
    pub what: &'static str,
    /// Trials with something to find.
    pub planted: usize,
    /// Of these, those in which the check could look.
    pub assessed: usize,
    /// Of these, those in which it spoke up as it should.
    pub found: usize,
    /// Of these, those that name the right joint, and those that name any.
    pub joints: (usize, usize),
    /// What was missed.
    pub missed: Vec<String>,
}

/// How a size was read.
#[derive(Debug, Clone, PartialEq)]
pub struct SizeRow {
    /// What it is.
    pub what: &'static str,
    /// Its unit.
    pub unit: &'static str,
    /// What is asked.
    pub goal: Goal,
    /// All errors, by size.
    pub errors: Vec<f64>,
    /// Those beyond what is asked.
    pub missed: Vec<String>,
}

impl SizeRow {
    /// The 95th percentile of the errors' sizes, or the share that is zero.
    pub fn value(&self) -> f64 {
        let count = self.errors.len();
        match self.goal {
            Goal::Exact(_) => {
                let exact = self.errors.iter().filter(|error| error.abs() < 0.5).count();
                exact as f64 / count.max(1) as f64
            }
            // Nearest rank.
            _ => {
                self.errors.get((count * 95).div_ceil(100).max(1) - 1).copied().unwrap_or(f64::NAN)
            }
        }
    }

    /// Whether it is as good as asked; what is only shown always is.
    pub fn met(&self) -> bool {
        match self.goal {
            Goal::P95(most) => self.value() <= most,
            Goal::Exact(least) => self.value() >= least,
            Goal::Shown => true,
        }
    }
}

/// Everything that was found.
#[derive(Debug, Clone, PartialEq)]
pub struct Report {
    /// How much was run.
    pub scale: Scale,
    /// Case by case.
    pub rows: Vec<Row>,
    /// Size by size.
    pub sizes: Vec<SizeRow>,
    /// What was said of sound sessions.
    pub alarms: Alarms,
}

impl Scale {
    /// Runs it all, on all threads of the workers; the same on any number of them.
    pub fn run(self, workers: &Workers) -> Result<Report, String> {
        let cases = cases::all();
        let mut jobs: Vec<(usize, usize)> = Vec::with_capacity(cases.len() * self.trials);
        for at in 0..cases.len() {
            jobs.extend((0..self.trials).map(|turn| (at, self.from + turn)));
        }
        let trials = workers.map(&jobs, |(at, turn)| trial::run(&cases[*at], *turn));
        let trials: Vec<Trial> =
            trials.into_iter().collect::<Result<_, _>>().map_err(|error| error.to_string())?;
        let (mut rows, mut sizes) = (Vec::new(), Vec::<SizeRow>::new());
        for (case, trials) in cases.iter().zip(trials.chunks(self.trials)) {
            if case.grade != Grade::Sound {
                rows.push(Row::of(case, trials));
            }
            let Some(size) = &case.size else { continue };
            let planted = || trials.iter().filter(|trial| trial.planted);
            let errors = planted().flat_map(|t| &t.errors).map(|error| error.abs());
            let missed = planted().filter(|t| t.errors.iter().any(|e| size.goal.misses(*e)));
            let missed = missed.map(|t| format!("{:.2?}: {} {}", t.errors, case.what, t.reported));
            match sizes.iter_mut().find(|row| row.what == size.what) {
                Some(row) => {
                    row.errors.extend(errors);
                    row.missed.extend(missed);
                }
                None => sizes.push(SizeRow {
                    what: size.what,
                    unit: size.unit,
                    goal: size.goal,
                    errors: errors.collect(),
                    missed: missed.collect(),
                }),
            }
        }
        for row in &mut sizes {
            row.errors.sort_by(f64::total_cmp);
        }
        rows.extend(self.odd(workers)?);
        let mut checks = catalogue::specs().map(|check| check.id);
        let unplanted =
            |id: &&str| !ELSEWHERE.contains(id) && rows.iter().all(|row| row.check != *id);
        if let Some(check) = checks.find(unplanted) {
            return Err(format!("no fault is planted for {check}: add one to {CASES}"));
        }
        let turns: Vec<usize> = (self.from..self.from + self.sessions).collect();
        let mut alarms = Alarms::default();
        for turns in turns.chunks(AT_ONCE) {
            for session in workers.map(turns, |turn| Alarms::of(*turn)) {
                alarms.add(session?);
            }
        }
        Ok(Report { scale: self, rows, sizes, alarms })
    }

    fn odd(self, workers: &Workers) -> Result<Vec<Row>, String> {
        let turns: Vec<usize> = (self.from..self.from + self.odd).collect();
        let row = |odd: &sessions::Odd| {
            let found = turns.chunks(AT_ONCE).flat_map(|t| workers.map(t, |turn| odd.found(*turn)));
            let found: Vec<(bool, String)> = found.collect::<Result<_, String>>()?;
            Ok(Row {
                check: odd.check,
                grade: Grade::Advisory,
                what: odd.what,
                planted: self.odd,
                assessed: self.odd,
                found: found.iter().filter(|found| found.0).count(),
                joints: (0, 0),
                missed: found.into_iter().filter(|found| !found.0).map(|found| found.1).collect(),
            })
        };
        ODD.iter().map(row).collect()
    }
}

impl Row {
    fn of(case: &cases::Case, trials: &[Trial]) -> Self {
        let planted: Vec<&Trial> = trials.iter().filter(|trial| trial.planted).collect();
        let assessed = || planted.iter().filter(|trial| trial.assessed || trial.found);
        let found = || assessed().filter(|trial| trial.found);
        let named = || found().filter_map(|trial| trial.right_joint);
        let amiss = |trial: &&&&Trial| !trial.found || trial.right_joint == Some(false);
        Self {
            check: case.check,
            grade: case.grade,
            what: case.what,
            planted: planted.len(),
            assessed: assessed().count(),
            found: found().count(),
            joints: (named().filter(|right| *right).count(), named().count()),
            missed: assessed().filter(|t| amiss(&t)).map(|trial| trial.reported.clone()).collect(),
        }
    }

    /// The share found of what could be looked at.
    pub fn recall(&self) -> f64 {
        self.found as f64 / self.assessed.max(1) as f64
    }
}

impl Report {
    /// The share found, mean over the cases of a grade.
    pub fn recall(&self, grade: Grade) -> f64 {
        let of_grade = || self.rows.iter().filter(|row| row.grade == grade);
        of_grade().map(Row::recall).sum::<f64>() / of_grade().count().max(1) as f64
    }

    /// The share of findings on a joint that name the right one.
    pub fn right_joint(&self) -> f64 {
        let joints = self.rows.iter().map(|row| row.joints);
        let (right, named) = joints.fold((0, 0), |sum, j| (sum.0 + j.0, sum.1 + j.1));
        right as f64 / named.max(1) as f64
    }

    /// What was asked of the checks as a whole: words, value, what is asked, whether it is met.
    pub fn asked(&self) -> Vec<(String, String, String, bool)> {
        let share = |what: &str, value: f64, least: f64| {
            let asked = format!("at least {least:.2}");
            (what.to_owned(), format!("{value:.3}"), asked, value >= least)
        };
        let most = |what: &str, count: usize, of: usize, most: f64| {
            let value = 100.0 * count as f64 / of.max(1) as f64;
            let asked = format!("at most {most} %");
            (what.to_owned(), format!("{value:.2} %"), asked, value <= most)
        };
        let alarms = &self.alarms;
        let mut all = vec![
            share("recall at fail severity", self.recall(Grade::Fail), 0.98),
            share("recall at warn severity", self.recall(Grade::Warn), 0.90),
            share("recall of advisory checks", self.recall(Grade::Advisory), 0.85),
            share("right joint named", self.right_joint(), 0.97),
            most("sound episodes that fail", alarms.failed, alarms.episodes, 0.5),
            most("sound episodes that warn", alarms.warned, alarms.episodes, 3.0),
            most("sound sessions with a finding", alarms.sessions_found, alarms.sessions, 0.0),
        ];
        for row in self.sizes.iter().filter(|row| row.goal != Goal::Shown) {
            let (value, asked) = (row.value(), row.goal);
            let value = match asked {
                Goal::Exact(_) => format!("{value:.3} exact"),
                Goal::P95(most) if most < 0.1 => format!("{value:.4} {}", row.unit),
                _ => format!("{value:.2} {}", row.unit),
            };
            let asked = match asked {
                Goal::Exact(least) => format!("at least {least:.2}"),
                Goal::P95(most) => {
                    format!("at most {} (95 %)", format!("{most} {}", row.unit).trim())
                }
                Goal::Shown => String::new(),
            };
            all.push((row.what.to_owned(), value.trim().to_owned(), asked, row.met()));
        }
        all
    }
}
