//! The traces of an HTML report: reads the episodes that are worth looking at once more.

use std::collections::{HashMap, HashSet};
use std::io;
use std::num::NonZero;

use super::AppError;
use crate::engine::{self, Workers};
use crate::model::Episode;
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
    let worth = html::worth_tracing(view).map_err(inner)?;
    let cards = &view.outcome.cards;
    let indices: Vec<u64> = worth.iter().map(|&at| cards[at].key.index).collect();
    let workers = Workers::start(threads.map(NonZero::get))?;
    let place_of: HashMap<u64, usize> =
        indices.iter().enumerate().map(|(place, &index)| (index, place)).collect();
    let pack = |episode: &Episode| {
        let place = place_of.get(&episode.key.index).copied()?;
        Some((place, Trace::of(episode, &cards[worth[place]])))
    };
    let mut packed: Vec<(usize, Trace)> = Vec::new();
    let mut fault = None;
    let mut take = |made: Option<(usize, io::Result<Trace>)>| match made {
        Some((place, Ok(trace))) => packed.push((place, trace)),
        Some((_, Err(error))) => fault = Some(error),
        None => {}
    };
    if let Some(source) = source {
        engine::made_of(source, &indices, &workers, &pack, &mut take);
    }
    if let Some(error) = fault {
        return Err(inner(error));
    }
    packed.sort_by_key(|(place, _)| *place);
    let mut room = TRACE_BYTES;
    let mut traces: Vec<Trace> = Vec::new();
    for (_, trace) in packed {
        match room.checked_sub(trace.size()) {
            Some(left) => room = left,
            None => break,
        }
        traces.push(trace);
    }
    let traced: HashSet<u64> = traces.iter().map(|trace| trace.index).collect();
    let flagged = cards.iter().filter(|card| !card.findings.is_empty());
    let left_out = flagged.filter(|card| !traced.contains(&card.key.index)).count();
    Ok((traces, left_out))
}
