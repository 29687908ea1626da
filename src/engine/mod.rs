//! Runs the checks over a source, or judges measurements files again: waves of shards on all cores,
//! one scorecard per episode.
//!
//! Layer 8, and the only module that owns threads. Work goes in waves of a few shards per thread and
//! results are gathered in the order of the dataset, so that memory is bounded by construction
//! and the outcome is the same, byte for byte, at any number of threads.

mod card;
mod chosen;
mod gather;
mod landed;
mod plan;
mod rejudge;
mod shard;
mod workers;

pub use card::card;
pub use chosen::{episodes, made_of};
pub use landed::{Landed, Recent, landed, rows, together};
pub use plan::Plan;
pub use rejudge::{baseline, rejudge};
pub use workers::{EngineError, Workers};

use std::convert::Infallible;
use std::sync::Arc;

use crate::check::Check;
use crate::model::{Ledger, Outcome, Progress, Row, Scorecard, Sketch};
use crate::source::Source;
use crate::store::{Entry, StoreError, StoredColumns, Writer};
use gather::Gathered;
use shard::{Made, Shard};

/// Shards to a thread that are begun before those ahead of them are gathered: enough to keep all
/// threads busy, few enough to hold.
const AHEAD: usize = 16;

/// Audits every episode of a source.
///
/// Damaged data never ends the run: what cannot be read is listed in the outcome, what cannot be
/// measured is listed on its card as not assessed.
pub fn audit(
    source: &dyn Source,
    plan: &Plan,
    workers: &Workers,
    watch: &mut dyn FnMut(&Progress),
) -> Outcome {
    let plan = &plan.of_rig(source.rig());
    let Ok(gathered) = measure::<Infallible>(source, plan, workers, None, &mut |_| Ok(()), watch);
    gathered.outcome(workers)
}

/// The same, and writes what was measured as it goes.
///
/// # Errors
/// If the measurements file cannot be written.
pub fn audit_into(
    mut writer: Writer<'_>,
    source: &dyn Source,
    plan: &Plan,
    workers: &Workers,
    watch: &mut dyn FnMut(&Progress),
) -> Result<Outcome, StoreError> {
    let plan = &plan.of_rig(source.rig());
    let layout = Arc::clone(writer.layout());
    let mut write = |rows: Made| match rows {
        Some(rows) => writer.write(&rows?),
        None => Ok(()),
    };
    let gathered = measure(source, plan, workers, Some(&layout), &mut write, watch)?;
    writer.finish(gathered.unread())?;
    Ok(gathered.outcome(workers))
}

/// The outcome of a source of which nothing was measured.
pub fn nothing(source: &dyn Source, plan: &Plan, workers: &Workers) -> Outcome {
    let left_out = |_: &Check| None;
    let unread = (source.unread(), source.skipped());
    Gathered::new(plan, source.rig(), unread, left_out).outcome(workers)
}

fn measure<'p, E>(
    source: &dyn Source,
    plan: &'p Plan,
    workers: &Workers,
    layout: Option<&StoredColumns>,
    write: &mut dyn FnMut(Made) -> Result<(), E>,
    watch: &mut dyn FnMut(&Progress),
) -> Result<Gathered<'p>, E> {
    let rig = source.rig();
    let mut gathered =
        Gathered::new(plan, rig, (source.unread(), source.skipped()), |check: &Check| {
            check.left_out(rig)
        });
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

fn run(source: &dyn Source, plan: &Plan, layout: Option<&StoredColumns>, shard: usize) -> Shard {
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

/// What the ledger keeps of an episode besides its readings.
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
