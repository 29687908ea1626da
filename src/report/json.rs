//! JSON and JSON Lines. Episodes are turned into their shape one by one, so that the whole document is
//! never in memory.

use std::io::{self, Write};

use serde::Serialize;
use serde_json::{Map, Value};

#[cfg(any(test, feature = "internals"))]
use super::shape::Document;
use super::shape::{EpisodeFindings, EpisodeRow, EpisodeShape, EpisodeSummary, Head, JsonDetail};
use super::view::View;
use crate::model::CardPlace;

/// The machine-readable document with everything; with `only`, its list of episodes holds that one
/// alone.
#[cfg(any(test, feature = "internals"))]
pub fn document(view: &View<'_>, only: Option<CardPlace>) -> Document {
    Document::with(view, places(view, only))
}

/// Writes the document, two spaces to a level, ending in a line break. Below full detail an episode is one
/// line.
///
/// # Errors
/// If the output cannot be written.
pub fn json(
    view: &View<'_>,
    only: Option<CardPlace>,
    detail: JsonDetail,
    out: &mut dyn Write,
) -> io::Result<()> {
    match detail {
        JsonDetail::Summary => whole::<EpisodeSummary>(view, only, out),
        JsonDetail::Findings => whole::<EpisodeFindings>(view, only, out),
        JsonDetail::Full => whole::<EpisodeShape>(view, only, out),
    }
}

/// Writes one episode a line, and what concerns all of them as the last line. `kind` tells them apart,
/// and all lines have the same fields.
///
/// # Errors
/// If the output cannot be written.
pub fn jsonl(
    view: &View<'_>,
    only: Option<CardPlace>,
    detail: JsonDetail,
    out: &mut dyn Write,
) -> io::Result<()> {
    match detail {
        JsonDetail::Summary => lines::<EpisodeSummary>(view, only, out),
        JsonDetail::Findings => lines::<EpisodeFindings>(view, only, out),
        JsonDetail::Full => lines::<EpisodeShape>(view, only, out),
    }
}

/// Which lines there are, by their field `kind`.
pub(super) const EPISODE_LINE: &str = "episode";
pub(super) const SESSION_LINE: &str = "session";

/// One episode as a line.
#[derive(Serialize)]
struct EpisodeLine<'a, E> {
    kind: &'static str,
    #[serde(flatten)]
    episode: &'a E,
    /// Null: it stands in the line of the session.
    report: Option<()>,
}

fn places(view: &View<'_>, only: Option<CardPlace>) -> Box<dyn Iterator<Item = CardPlace>> {
    match only {
        Some(place) => Box::new(std::iter::once(place)),
        None => Box::new(CardPlace::all(view.outcome.cards.len())),
    }
}

fn whole<E: EpisodeRow>(
    view: &View<'_>,
    only: Option<CardPlace>,
    out: &mut dyn Write,
) -> io::Result<()> {
    let head = serde_json::to_string_pretty(&Head::without_episodes(view, E::DETAIL))?;
    let open = head.strip_suffix("\n}").unwrap_or(&head);
    write!(out, "{open},\n  \"episodes\": [")?;
    let mut separator = "";
    let mut text = Vec::new();
    for place in places(view, only) {
        let episode = E::of(view, place);
        text.clear();
        match E::DETAIL {
            JsonDetail::Full => serde_json::to_writer_pretty(Indented(&mut text), &episode)?,
            _ => serde_json::to_writer(&mut text, &episode)?,
        }
        write!(out, "{separator}\n    ")?;
        out.write_all(&text)?;
        separator = ",";
    }
    writeln!(out, "{}]\n}}", if separator.is_empty() { "" } else { "\n  " })
}

/// Begins each line four spaces further in. A line break inside a text is written as two letters, and
/// the others come at the end of a piece.
struct Indented<'a>(&'a mut Vec<u8>);

impl Write for Indented<'_> {
    fn write(&mut self, piece: &[u8]) -> io::Result<usize> {
        self.0.extend_from_slice(piece);
        if piece.ends_with(b"\n") {
            self.0.extend_from_slice(b"    ");
        }
        Ok(piece.len())
    }

    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

fn lines<E: EpisodeRow>(
    view: &View<'_>,
    only: Option<CardPlace>,
    out: &mut dyn Write,
) -> io::Result<()> {
    for place in places(view, only) {
        let episode = &E::of(view, place);
        line(&EpisodeLine { kind: EPISODE_LINE, episode, report: None }, out)?;
    }
    let mut session = Map::new();
    session.insert("kind".to_owned(), SESSION_LINE.into());
    session.extend(E::KEYS.iter().map(|key| ((*key).to_owned(), Value::Null)));
    session.insert(
        "report".to_owned(),
        serde_json::to_value(Head::without_episodes(view, E::DETAIL))?,
    );
    line(&session, out)
}

fn line(value: &impl Serialize, out: &mut dyn Write) -> io::Result<()> {
    serde_json::to_writer(&mut *out, value)?;
    writeln!(out)
}
