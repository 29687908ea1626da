//! Episodes that arrive one after the other: measured file by file, and judged together without the
//! checks of a whole session.

use super::card::{self, all_times};
use super::plan::Plan;
use crate::judge::{self, Limits, Tally};
use crate::model::{
    CheckSpec, JointId, Ledger, Metric, Reading, Row, Scorecard, Session, Sketch, Unread,
};
use crate::source::Source;
use crate::store::{Entry, Rows, StoreError, StoredColumns};

/// One episode with all that a measurements file holds of it.
#[derive(Debug)]
pub struct Landed {
    /// Its card, with readings.
    pub card: Scorecard,
    sketch: Option<Sketch>,
    times: Vec<Vec<[f64; 2]>>,
}

/// Measures and judges every episode of a source, in this thread. Gives what could not be read,
/// too.
pub fn landed(source: &dyn Source, plan: &Plan) -> (Vec<Landed>, Vec<Unread>) {
    let (mut episodes, mut unread) = (Vec::new(), source.unread().to_vec());
    for shard in 0..source.shards() {
        let missed = source.read(shard, &mut |episode| {
            let card = card::card(episode, plan);
            let times = all_times(episode, &card);
            let sketch = plan.sketch.then(|| Sketch::of(episode));
            episodes.push(Landed { card, sketch, times });
        });
        for file in missed {
            if !unread.contains(&file) {
                unread.push(file);
            }
        }
    }
    episodes.sort_by_key(|one: &Landed| one.card.key.index);
    (episodes, unread)
}

/// The rows of some episodes in a measurements file.
///
/// # Errors
/// If a reading has no column: a fault of this program.
pub fn rows(episodes: &[Landed], layout: &StoredColumns) -> Result<Rows, StoreError> {
    let entries = episodes.iter().map(|one| Entry {
        card: &one.card,
        span_times_s: &one.times,
        motion: one.sketch.as_ref().map(Sketch::motion),
    });
    layout.rows(&entries.collect::<Vec<_>>())
}

/// An episode as it is judged with others: its card without readings, and those that say something
/// by themselves.
#[derive(Debug, Clone)]
pub struct Recent {
    /// The card.
    pub card: Scorecard,
    readings: Vec<Reading>,
}

impl Recent {
    /// Whether a measurement of a check was read on a joint.
    pub fn read(&self, check: &CheckSpec, metric: &Metric, joint: Option<JointId>) -> bool {
        let same = |reading: &Reading| {
            reading.check.is(check)
                && reading.metric.is(metric)
                && joint.is_none_or(|_| reading.joint == joint)
        };
        self.readings.iter().any(same)
    }
}

impl From<Scorecard> for Recent {
    fn from(mut card: Scorecard) -> Self {
        let readings = card.reported().cloned().collect();
        card.readings = Vec::new();
        Self { card, readings }
    }
}

/// What some episodes in a row show together, and their cards without what is of the rig.
pub fn together(episodes: &[Recent], limits: &Limits) -> (Session, Vec<Scorecard>) {
    let (mut ledger, mut tally) = (Ledger::default(), Tally::default());
    for Recent { card, readings } in episodes {
        let (frames, duration_s) = (card.frames, card.duration_s);
        ledger.push(Row { frames, duration_s, ..Row::default() }, readings);
        tally.episode(&card.not_assessed);
    }
    let mut cards: Vec<Scorecard> = episodes.iter().map(|one| one.card.clone()).collect();
    let session = judge::session(&mut cards, tally, &ledger, limits);
    (session, cards)
}
