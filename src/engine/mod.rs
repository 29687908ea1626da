//! Runs the checks over a source: waves of shards on all cores, one scorecard per episode.
//!
//! Floor 5, and the only module with threads. Work goes in waves of a few shards per thread and
//! results are gathered in the order of the dataset, so that memory is bounded by construction
//! and the outcome is the same, byte for byte, at any number of threads.

mod card;
mod chosen;
mod gather;
mod workers;

pub use card::card;
pub use chosen::episodes;
pub use workers::{EngineError, Workers};

use crate::check::{CHECKS, Check, Params};
use crate::cohort::CohortCheck;
use crate::judge::Limits;
use crate::model::{Extra, Ledger, Outcome, Progress, Row, Scorecard, Sketch, Unread};
use crate::source::Source;

/// Shards to a thread in one wave: enough to keep all threads busy to the end of the wave.
const SHARDS_PER_THREAD: usize = 16;

/// What to measure and how to judge it.
pub struct Plan {
    /// The checks to run on each episode.
    pub checks: Vec<&'static dyn Check>,
    /// The checks to run on the session.
    pub cohort: Vec<&'static dyn CohortCheck>,
    /// Parameters in force.
    pub params: Params,
    /// Limits in force.
    pub limits: Limits,
    /// Whether cards keep their readings and holes after judging.
    pub keep_readings: bool,
    /// Whether the ledger keeps a sketch of each episode's motion: for cohort checks that look at
    /// it, and for whoever stores the ledger.
    pub sketch: bool,
}

impl Plan {
    /// Optional columns that its checks look at.
    pub fn extras(&self) -> Vec<Extra> {
        let mut kinds: Vec<Extra> = self.checks.iter().flat_map(|c| c.extras()).copied().collect();
        kinds.sort_unstable();
        kinds.dedup();
        kinds
    }
}

impl Default for Plan {
    fn default() -> Self {
        Self {
            checks: CHECKS.to_vec(),
            cohort: crate::cohort::COHORT_CHECKS.to_vec(),
            params: Params::default(),
            limits: Limits::default(),
            keep_readings: false,
            sketch: true,
        }
    }
}

/// What one shard gave.
struct Shard {
    cards: Vec<Scorecard>,
    /// The cards' readings, a row for each.
    ledger: Ledger,
    unread: Vec<Unread>,
}

/// Audits every episode of a source.
///
/// Damaged data never ends the run: what cannot be read is listed in the outcome, what cannot be
/// measured is a hole on its card.
pub fn audit(
    source: &dyn Source,
    plan: &Plan,
    workers: &Workers,
    watch: &mut dyn FnMut(&Progress),
) -> Outcome {
    let mut gathered = gather::Gathered::new(plan, source);
    let mut progress = Progress { total_episodes: source.episodes(), ..Progress::default() };
    watch(&progress);
    let shards: Vec<usize> = (0..source.shards()).collect();
    for wave in shards.chunks(SHARDS_PER_THREAD * workers.threads()) {
        for shard in workers.map(wave, |shard| run(source, plan, *shard)) {
            gathered.add(shard, &mut progress);
        }
        watch(&progress);
    }
    gathered.outcome()
}

fn run(source: &dyn Source, plan: &Plan, shard: usize) -> Shard {
    let mut cards = Vec::new();
    let unread = source.read(shard, &mut |episode| {
        let sketch = plan.sketch.then(|| Sketch::of(episode));
        cards.push((card::card(episode, plan), sketch));
    });
    cards.sort_by_key(|(card, _)| card.key.index);
    // Readings take some 30 KB an episode, and a wave is long: what stays of them is their numbers.
    let mut ledger = Ledger::default();
    for (card, sketch) in &mut cards {
        let row = Row {
            frames: card.frames,
            duration_s: card.duration_s,
            task: card.key.task.as_ref(),
            motion: sketch.as_ref().map(Sketch::motion),
        };
        ledger.push(row, card.told());
        if !plan.keep_readings {
            card.readings = Vec::new();
        }
    }
    Shard { cards: cards.into_iter().map(|(card, _)| card).collect(), ledger, unread }
}
