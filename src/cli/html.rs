//! The HTML report: reads the episodes that are worth looking at once more, for their traces.

use std::collections::{HashMap, HashSet};
use std::io;
use std::num::NonZero;
use std::path::Path;

use teleassay::engine::{self, Workers};
use teleassay::model::{CardPlace, Episode, EpisodeIndex};
use teleassay::report::View;
use teleassay::report::html::{self, TRACE_BYTES, Trace};
use teleassay::source::Source;

use super::error::CliError;
use super::output::to_file;

/// Writes the report with as many traces as find room, the worst first.
pub fn html_report(
    path: &Path,
    view: &View<'_>,
    source: Option<&dyn Source>,
    threads: Option<NonZero<usize>>,
) -> Result<(), CliError> {
    let inner = |error: io::Error| CliError::internal(error.to_string());
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
    to_file(path, |out| html::html(view, &traces, left_out, out))
}
