//! The HTML report: reads the episodes that are worth looking at once more, for their traces.

use std::io;
use std::num::NonZero;
use std::path::Path;

use teleassay::engine::{self, Workers};
use teleassay::model::Episode;
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
    let worth = html::worth_tracing(view).map_err(inner)?;
    let cards = &view.outcome.cards;
    let indices: Vec<u64> = worth.iter().map(|&at| cards[at].key.index).collect();
    let workers = Workers::start(threads.map(NonZero::get))?;
    let mut packed: Vec<(usize, Trace)> = Vec::new();
    let mut fault = None;
    let mut pack = |episode: &Episode| {
        let Some(place) = indices.iter().position(|&index| index == episode.key.index) else {
            return;
        };
        match Trace::of(episode, &cards[worth[place]]) {
            Ok(trace) => packed.push((place, trace)),
            Err(error) => fault = Some(error),
        }
    };
    if let Some(source) = source {
        engine::episodes(source, &indices, &workers, &mut pack);
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
    let has = |index: u64| traces.iter().any(|trace| trace.index == index);
    let flagged = cards.iter().filter(|card| !card.findings.is_empty());
    let left_out = flagged.filter(|card| !has(card.key.index)).count();
    to_file(path, |out| html::html(view, &traces, left_out, out))
}
