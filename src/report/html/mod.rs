//! Pages: the report as one HTML file that opens without a network: verdict first, then the rig
//! causes, measurements, episodes with their traces, where it comes from, cautions.
//!
//! What a person must be able to read stands in the page itself; tables and traces are drawn by
//! the script from data that the page carries. Of one episode alone there is a page with its trace.

mod course;
mod figures;
mod gaps;
mod groups;
mod measured;
mod one;
pub(super) mod page;
mod plan;
mod rows;
pub(super) mod template;
mod trace;

use std::io::{self, Write};
use std::time::Duration;

use super::view::View;
use crate::model::CardPlace;

pub use one::trace_html;
pub use trace::Trace;

/// Where the data goes in the template.
const DATA: &str = "<!--data-->";

/// Bytes of traces that a report holds unless set otherwise.
pub const TRACE_BYTES: usize = 20 << 20;
/// Episodes whose traces a report holds at most.
pub const TRACES: usize = 500;

/// Positions of the cards whose traces are worth having, in the order of their worth: flagged ones
/// worst first, then one that passed, to compare them with.
pub fn worth_tracing(view: &View<'_>) -> Vec<CardPlace> {
    let cards = &view.outcome.cards;
    let sound = |place: &CardPlace| view.card(*place).findings.is_empty();
    let flagged = view.digest.order.iter().copied().filter(|place| !sound(place));
    let mut worth: Vec<CardPlace> = flagged.take(TRACES).collect();
    let mut sound: Vec<CardPlace> = CardPlace::all(cards.len()).filter(sound).collect();
    let duration_s = |place: CardPlace| view.card(place).duration_s;
    sound.sort_by(|a, b| duration_s(*a).total_cmp(&duration_s(*b)).then(a.cmp(b)));
    if let Some(&middle) = sound.get(sound.len() / 2) {
        worth.insert(worth.len().min(1), middle);
    }
    worth
}

/// Writes the report; `left_out` is the number of flagged episodes whose traces found no room.
///
/// # Errors
/// If the output cannot be written.
pub fn html(
    view: &View<'_>,
    traces: &[Trace],
    left_out: usize,
    out: &mut dyn Write,
) -> io::Result<()> {
    reloading(view, traces, left_out, None, out)
}

/// Writes the report of a session that goes on: the page loads itself again from disk every so
/// often.
///
/// # Errors
/// If the output cannot be written.
pub fn live(
    view: &View<'_>,
    traces: &[Trace],
    left_out: usize,
    every: Duration,
    out: &mut dyn Write,
) -> io::Result<()> {
    reloading(view, traces, left_out, Some(every), out)
}

fn reloading(
    view: &View<'_>,
    traces: &[Trace],
    left_out: usize,
    every: Option<Duration>,
    out: &mut dyn Write,
) -> io::Result<()> {
    let data = rows::PageData {
        rig: view.rig,
        inputs: view.inputs,
        cards: &view.outcome.cards,
        worst: &view.digest.order,
        checks: view.checks,
        trace: view.trace.map(str::to_owned),
        traces: traces.iter().map(|trace| trace.place).collect(),
        drawn: None,
        window_s: None,
        gaps: Some(gaps::Gaps::of(view)),
    };
    with_data(&page::render(view, left_out, every)?, &data, traces, out)
}

/// Writes a page with its data in their place.
fn with_data(
    page: &str,
    data: &rows::PageData<'_>,
    traces: &[Trace],
    out: &mut dyn Write,
) -> io::Result<()> {
    let (before, after) = page.split_once(DATA).unwrap_or((page, ""));
    out.write_all(before.as_bytes())?;
    rows::write(data, out)?;
    for trace in traces {
        trace.write(out)?;
    }
    out.write_all(after.as_bytes())
}
