//! Lists for trainers: which episodes to keep, and which to drop.

use std::io::{self, Write};

use clap::ValueEnum;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::columnar::{ROWS, cells, csv};
use super::shape::{SourceShape, SpanShape, source};
use super::table::TableError;
use super::view::View;
use crate::model::{CardPlace, Severity, Verdict, name_bytes};
use crate::store::{Column, Values, write_columns};

/// What the table is, in its metadata.
const KEY: &str = "teleassay.list";
/// What `schema` says in this version.
const VERSION: &str = "teleassay/list/1";

/// Which verdicts are kept.
#[derive(
    Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema, ValueEnum,
)]
#[serde(rename_all = "lowercase")]
#[schemars(rename = "keep_from")]
pub enum KeepFrom {
    /// Only episodes within all limits
    #[value(alias = "pass")]
    Ok,
    /// Episodes that did not fail
    #[default]
    Warn,
}

/// Which of the two lists.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
#[schemars(rename = "list_kind")]
pub enum ListKind {
    /// What may be trained on.
    Keep,
    /// The rest.
    Drop,
}

/// How a list is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ListFormat {
    /// Ids, one a line.
    Ids,
    /// A row for each episode.
    Csv,
    /// The same.
    Parquet,
    /// The same as a document.
    Json,
}

/// A list of episodes.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(
    title = "teleassay list, version 1",
    description = "Episodes in the order of the dataset. Spans of frames and ranges of rows are half \
                   open: the first, and the first after the last.",
    extend("$id" = "urn:teleassay:list:1"),
    deny_unknown_fields
)]
pub struct ListDocument {
    /// [`VERSION`].
    #[schemars(description = "Which shape this is", extend("const" = VERSION))]
    pub schema: String,
    /// Which of the two lists.
    pub list: ListKind,
    /// Which verdicts are kept.
    pub keep_from: KeepFrom,
    /// The episodes.
    pub episodes: Vec<ListedEpisode>,
}

/// One episode of a list.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(rename = "listed", deny_unknown_fields)]
pub struct ListedEpisode {
    /// Id: what the data says, with a path in front where that is not unique. Bytes of a file's name
    /// that are no UTF-8 are written `\xNN`.
    pub episode: String,
    /// Where it was read from.
    pub source: SourceShape,
    /// Its task; null without one.
    pub task: Option<String>,
    /// Frames.
    pub frames: u64,
    /// Last stamp minus first.
    #[schemars(range(min = 0))]
    pub duration_s: f64,
    /// The verdict.
    pub verdict: Verdict,
    /// Checks behind its verdict, the worst first; `session:` in front of those in which the whole
    /// session failed.
    pub reasons: Vec<String>,
    /// Frames at the begin and the end in which nothing moves, which can be left out.
    pub trim: Vec<SpanShape>,
}

/// Writes a list.
///
/// # Errors
/// If it cannot be written.
pub fn list(
    view: &View<'_>,
    kind: ListKind,
    keep_from: KeepFrom,
    format: ListFormat,
    out: &mut (dyn Write + Send),
) -> Result<(), TableError> {
    let all = CardPlace::all(view.outcome.cards.len());
    let mut listed = all.filter(|place| kept(view, *place, keep_from) == (kind == ListKind::Keep));
    match format {
        ListFormat::Ids => {
            Ok(listed.try_for_each(|place| id(&view.card(place).key.id, &mut *out))?)
        }
        ListFormat::Json => Ok(json(view, (kind, keep_from), listed, out)?),
        ListFormat::Csv => csv(parts(view, kind, listed), out),
        ListFormat::Parquet => Ok(write_columns(KEY, parts(view, kind, listed), out)?),
    }
}

fn kept(view: &View<'_>, place: CardPlace, from: KeepFrom) -> bool {
    let verdict = view.card(place).verdict;
    view.usable(place) && (from == KeepFrom::Warn || verdict == Verdict::Pass)
}

/// An id as one line: the bytes of a file's name as they are. A line break in it stays escaped.
fn id(id: &str, out: &mut dyn Write) -> io::Result<()> {
    for byte in name_bytes(id).iter() {
        match byte {
            b'\n' | b'\r' => write!(out, "\\x{byte:02x}")?,
            _ => out.write_all(std::slice::from_ref(byte))?,
        }
    }
    out.write_all(b"\n")
}

fn json(
    view: &View<'_>,
    (list, keep_from): (ListKind, KeepFrom),
    listed: impl Iterator<Item = CardPlace>,
    out: &mut dyn Write,
) -> io::Result<()> {
    let (list, keep_from) = (serde_json::to_string(&list)?, serde_json::to_string(&keep_from)?);
    write!(out, "{{\n  \"schema\": \"{VERSION}\",\n  \"list\": {list},\n")?;
    write!(out, "  \"keep_from\": {keep_from},\n  \"episodes\": [")?;
    let mut separator = "";
    for place in listed {
        write!(out, "{separator}\n    {}", serde_json::to_string(&row(view, place))?)?;
        separator = ",";
    }
    writeln!(out, "{}]\n}}", if separator.is_empty() { "" } else { "\n  " })
}

fn row(view: &View<'_>, place: CardPlace) -> ListedEpisode {
    let card = view.card(place);
    let mut reasons: Vec<String> = Vec::new();
    let worst = card.findings.iter().map(|f| f.severity).max().unwrap_or(Severity::Warn);
    for finding in card.findings.iter().filter(|f| f.severity == worst) {
        if !reasons.iter().any(|known| known == finding.check.id) {
            reasons.push(finding.check.id.to_owned());
        }
    }
    let session = view.session_findings().iter().filter(|finding| finding.bars(place));
    for id in session.map(|finding| format!("session:{}", finding.check.id)) {
        if !reasons.contains(&id) {
            reasons.push(id);
        }
    }
    let finite = |time: f64| Some(time).filter(|time| time.is_finite());
    let trim = card.trim.iter().map(|one| SpanShape {
        frames: [u64::from(one.span.start), u64::from(one.span.end)],
        time_s: one.time_s.map(finite),
    });
    ListedEpisode {
        episode: card.key.id.clone(),
        source: source(view, card),
        task: card.key.task.as_deref().map(str::to_owned),
        frames: card.frames as u64,
        duration_s: finite(card.duration_s).unwrap_or(0.0),
        verdict: card.verdict,
        reasons,
        trim: trim.collect(),
    }
}

/// The rows in parts; one at least, so that a table without rows has its columns.
fn parts<'v>(
    view: &'v View<'v>,
    kind: ListKind,
    listed: impl Iterator<Item = CardPlace> + 'v,
) -> impl Iterator<Item = Vec<Column>> + 'v {
    let mut rows = listed.map(|place| row(view, place)).peekable();
    let mut first = true;
    std::iter::from_fn(move || {
        if !first && rows.peek().is_none() {
            return None;
        }
        first = false;
        Some(columns(kind, &rows.by_ref().take(ROWS).collect::<Vec<_>>()))
    })
}

fn columns(kind: ListKind, rows: &[ListedEpisode]) -> Vec<Column> {
    let list = match kind {
        ListKind::Keep => "keep",
        ListKind::Drop => "drop",
    };
    let text = |name, of: &dyn Fn(&ListedEpisode) -> Option<String>| Column {
        name,
        values: Values::Text(rows.iter().map(of).collect()),
    };
    let whole = |name, of: &dyn Fn(&ListedEpisode) -> u64| Column {
        name,
        values: Values::Whole(rows.iter().map(|row| Some(of(row))).collect()),
    };
    let durations = rows.iter().map(|row| Some(row.duration_s)).collect();
    let reasons = rows.iter().map(|row| row.reasons.clone()).collect();
    let trim = rows.iter().map(|row| cells(&row.trim)).collect();
    vec![
        text("list", &|_| Some(list.to_owned())),
        text("episode", &|row| Some(row.episode.clone())),
        text("path", &|row| Some(row.source.path.clone())),
        whole("first_row", &|row| row.source.rows[0]),
        whole("end_row", &|row| row.source.rows[1]),
        text("task", &|row| row.task.clone()),
        whole("frames", &|row| row.frames),
        Column { name: "duration_s", values: Values::Number(durations) },
        text("verdict", &|row| Some(row.verdict.word().to_owned())),
        Column { name: "reasons", values: Values::Ids(reasons) },
        Column { name: "trim", values: Values::Spans(trim) },
    ]
}
