//! The traces of an HTML report: reads the episodes that are worth looking at once more.

use std::collections::{HashMap, HashSet};
use std::io;
use std::num::NonZero;

use super::AppError;
use crate::engine::{self, Workers};
use crate::model::{CardPlace, Episode, EpisodeIndex};
use crate::report::View;
use crate::report::html::{self, TRACE_BYTES, Trace};
use crate::source::Source;

/// As many traces as find room, the worst first, and how many flagged episodes have none. Without a
/// `source`, no episode can be read again.
///
/// # Errors
/// If the threads cannot be started, or by a fault of this program.
pub fn traces(
    view: &View<'_>,
    source: Option<&dyn Source>,
    threads: Option<NonZero<usize>>,
) -> Result<(Vec<Trace>, usize), AppError> {
    let inner = |error: io::Error| AppError::internal(error.to_string());
    let worth = html::worth_tracing(view);
    let cards = &view.outcome.cards;
    let indices: Vec<EpisodeIndex> =
        worth.iter().map(|place| cards[place.get()].key.index).collect();
    let workers = Workers::start(threads.map(NonZero::get))?;
    let rank_of: HashMap<EpisodeIndex, usize> =
        indices.iter().enumerate().map(|(rank, &index)| (index, rank)).collect();
    let pack = |episode: &Episode| {
        let rank = rank_of.get(&episode.key.index).copied()?;
        let place = worth[rank];
        Some((rank, Trace::of(episode, &cards[place.get()], place)))
    };
    let mut packed: Vec<(usize, Trace)> = Vec::new();
    let mut fault = None;
    let mut take = |made: Option<(usize, io::Result<Trace>)>| match made {
        Some((rank, Ok(trace))) => packed.push((rank, trace)),
        Some((_, Err(error))) => fault = Some(error),
        None => {}
    };
    if let Some(source) = source {
        engine::made_of(source, &indices, &workers, &pack, &mut take);
    }
    if let Some(error) = fault {
        return Err(inner(error));
    }
    packed.sort_by_key(|(rank, _)| *rank);
    let mut room = TRACE_BYTES;
    let mut traces: Vec<Trace> = Vec::new();
    for (_, trace) in packed {
        match room.checked_sub(trace.size()) {
            Some(left) => room = left,
            None => break,
        }
        traces.push(trace);
    }
    let traced: HashSet<CardPlace> = traces.iter().map(|trace| trace.place).collect();
    let flagged = CardPlace::all(cards.len()).filter(|at| !cards[at.get()].findings.is_empty());
    let left_out = flagged.filter(|at| !traced.contains(at)).count();
    Ok((traces, left_out))
}
