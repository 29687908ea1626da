//! JSON and JSON Lines.

use std::io::{self, Write};

use serde::Serialize;

use super::shape::{Document, EpisodeShape, Head};
use super::view::View;
use crate::model::Scorecard;

/// The machine-readable document; with `only`, its list of episodes holds that one alone.
pub fn document(view: &View<'_>, only: Option<&Scorecard>) -> Document {
    match only {
        Some(card) => Document::with(view, std::iter::once(card)),
        None => Document::of(view),
    }
}

/// Writes the document, two spaces to a level, ending in a line break.
///
/// # Errors
/// If the output cannot be written.
pub fn json(document: &Document, out: &mut dyn Write) -> io::Result<()> {
    serde_json::to_writer_pretty(&mut *out, document)?;
    writeln!(out)
}

/// Writes one episode a line, and the rest of the document as the last line. Episodes are turned
/// into their shape one by one, so that the whole document is never in memory.
///
/// # Errors
/// If the output cannot be written.
pub fn jsonl(view: &View<'_>, only: Option<&Scorecard>, out: &mut dyn Write) -> io::Result<()> {
    match only {
        Some(card) => line(&EpisodeShape::of(view, card), out)?,
        None => {
            for card in &view.outcome.cards {
                line(&EpisodeShape::of(view, card), out)?;
            }
        }
    }
    line(&Head::of(view), out)
}

fn line(value: &impl Serialize, out: &mut dyn Write) -> io::Result<()> {
    serde_json::to_writer(&mut *out, value)?;
    writeln!(out)
}
