//! Runs the checks over a source, or judges stored scorecards again: waves of shards on all cores,
//! one scorecard per episode.
//!
//! Floor 5, and the only module with threads. Work goes in waves of a few shards per thread and
//! results are gathered in the order of the dataset, so that memory is bounded by construction
//! and the outcome is the same, byte for byte, at any number of threads.

mod card;
mod chosen;
mod gather;
mod rejudge;
mod workers;

pub use card::card;
pub use chosen::{episodes, made_of};
pub use rejudge::{baseline, rejudge};
pub use workers::{EngineError, Workers};

use std::convert::Infallible;
use std::sync::Arc;

use crate::catalogue;
use crate::check::{Check, Params};
use crate::judge::Limits;
use crate::model::{Extra, Ledger, Outcome, Progress, Row, Scorecard, Sketch, Unread};
use crate::source::Source;
use crate::store::{Entry, Layout, Rows, StoreError, Writer};
use gather::Gathered;

/// Shards to a thread that are begun before those ahead of them are gathered: enough to keep all
/// threads busy, few enough to hold.
const AHEAD: usize = 16;

/// What to measure and how to judge it.
#[derive(Clone)]
pub struct Plan {
    /// The checks to run on each episode.
    pub checks: Vec<&'static Check>,
    /// The checks to run on the session.
    pub cohort: Vec<&'static Check>,
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
        let mut kinds: Vec<Extra> = self.checks.iter().flat_map(|c| c.extras).copied().collect();
        kinds.sort_unstable();
        kinds.dedup();
        kinds
    }
}

impl Default for Plan {
    fn default() -> Self {
        Self {
            checks: catalogue::of_episodes().collect(),
            cohort: catalogue::of_sessions().collect(),
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
    /// Hashes of the cards' episodes.
    contents: Vec<Option<u64>>,
    unread: Vec<Unread>,
    /// The cards as rows of the scorecard that is written.
    rows: Made,
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
    let Ok(gathered) = measure::<Infallible>(source, plan, workers, None, &mut |_| Ok(()), watch);
    gathered.outcome(workers)
}

/// The same, and writes what was measured as it goes.
///
/// # Errors
/// If the scorecard cannot be written.
pub fn audit_into(
    mut writer: Writer<'_>,
    source: &dyn Source,
    plan: &Plan,
    workers: &Workers,
    watch: &mut dyn FnMut(&Progress),
) -> Result<Outcome, StoreError> {
    let layout = Arc::clone(writer.layout());
    let mut write = |rows: Made| match rows {
        Some(rows) => writer.write(&rows?),
        None => Ok(()),
    };
    let gathered = measure(source, plan, workers, Some(&layout), &mut write, watch)?;
    writer.finish(gathered.unread())?;
    Ok(gathered.outcome(workers))
}

/// Rows that a worker made, where a scorecard is written.
type Made = Option<Result<Rows, StoreError>>;

fn measure<'p, E>(
    source: &dyn Source,
    plan: &'p Plan,
    workers: &Workers,
    layout: Option<&Layout>,
    write: &mut dyn FnMut(Made) -> Result<(), E>,
    watch: &mut dyn FnMut(&Progress),
) -> Result<Gathered<'p>, E> {
    let rig = source.rig();
    let mut gathered =
        Gathered::new(plan, rig, source.unread(), |check: &Check| check.left_out(rig));
    let mut progress = Progress { total_episodes: source.episodes(), ..Progress::default() };
    watch(&progress);
    let ahead = AHEAD * workers.threads();
    let job = |shard| run(source, plan, layout, shard);
    workers.in_order(source.shards(), ahead, job, |mut shard: Shard| {
        write(shard.rows.take())?;
        gathered.add(shard, &mut progress);
        watch(&progress);
        Ok(())
    })?;
    Ok(gathered)
}

fn run(source: &dyn Source, plan: &Plan, layout: Option<&Layout>, shard: usize) -> Shard {
    let mut measured = Vec::new();
    let unread = source.read(shard, &mut |episode| {
        let sketch = plan.sketch.then(|| Sketch::of(episode));
        let card = card::card(episode, plan);
        let times = layout.map_or_else(Vec::new, |_| card::all_times(episode, &card));
        measured.push((card, sketch, times));
    });
    measured.sort_by_key(|(card, ..)| card.key.index);
    let rows = layout.map(|layout| {
        let entries = measured.iter().map(|(card, sketch, times)| Entry {
            card,
            span_times_s: times,
            motion: sketch.as_ref().map(Sketch::motion),
        });
        layout.rows(&entries.collect::<Vec<_>>())
    });
    // Readings take some 30 KB an episode, and a wave is long: what stays of them is their numbers.
    let mut ledger = Ledger::default();
    for (card, sketch, _) in &mut measured {
        enter(&mut ledger, card, sketch.as_ref(), plan);
    }
    let contents = measured.iter().map(|(_, sketch, _)| Some(sketch.as_ref()?.motion().content));
    let contents = contents.collect();
    let cards = measured.into_iter().map(|(card, ..)| card).collect();
    Shard { cards, ledger, contents, unread, rows }
}

/// What the ledger keeps of an episode beside its readings.
fn of_card<'a>(card: &'a Scorecard, sketch: Option<&'a Sketch>) -> Row<'a> {
    Row {
        frames: card.frames,
        duration_s: card.duration_s,
        task: card.key.task.as_ref(),
        motion: sketch.map(Sketch::motion),
    }
}

/// Enters a card in the ledger.
fn enter(ledger: &mut Ledger, card: &mut Scorecard, sketch: Option<&Sketch>, plan: &Plan) {
    ledger.push(of_card(card, sketch), card.reported());
    if !plan.keep_readings {
        card.readings = Vec::new();
    }
}
