//! Findings as a table: one row for each, of every episode and of the session.

use std::io::Write;

use super::columnar::{ROWS, cells, csv};
use super::shape::{SpanShape, source, spans};
use super::table::TableError;
use super::view::View;
use super::words::{finding_message, session_message};
use crate::model::{CardPlace, CheckSpec, Finding, JointId, Metric, SessionFinding, Severity};
use crate::store::{Column, Values, write_columns};

/// What the table is, in its metadata.
const KEY: &str = "teleassay.findings";

/// One row: its fields are columns.
struct Line {
    scope: &'static str,
    episode: Option<String>,
    path: Option<String>,
    first_row: Option<u64>,
    end_row: Option<u64>,
    task: Option<String>,
    severity: Severity,
    check: &'static CheckSpec,
    metric: &'static Metric,
    joint: Option<JointId>,
    value: f64,
    limit: f64,
    spans: Vec<SpanShape>,
    episodes: Option<u64>,
    of: Option<u64>,
    stretch: Option<[String; 2]>,
    known: Option<bool>,
    message: String,
}

/// Writes the findings as Parquet: those of the session first, then episode by episode in the order of
/// the dataset.
///
/// # Errors
/// If the table cannot be written.
pub fn findings_parquet(view: &View<'_>, out: &mut (dyn Write + Send)) -> Result<(), TableError> {
    Ok(write_columns(KEY, parts(view), out)?)
}

/// Writes the same as CSV.
///
/// # Errors
/// If the table cannot be written.
pub fn findings_csv(view: &View<'_>, out: &mut (dyn Write + Send)) -> Result<(), TableError> {
    csv(parts(view), out)
}

/// The rows in parts; one at least, so that a table without rows has its columns.
fn parts<'v>(view: &'v View<'v>) -> impl Iterator<Item = Vec<Column>> + 'v {
    let session = view.session_findings().iter().enumerate();
    let session = session.map(|(at, finding)| of_session(view, at, finding));
    let places = CardPlace::all(view.outcome.cards.len());
    let episodes = places.flat_map(move |place| {
        let findings = view.card(place).findings.iter().enumerate();
        findings.map(move |(at, finding)| of_episode(view, place, at, finding))
    });
    let mut rows = session.chain(episodes).peekable();
    let mut first = true;
    std::iter::from_fn(move || {
        if !first && rows.peek().is_none() {
            return None;
        }
        first = false;
        Some(columns(view, &rows.by_ref().take(ROWS).collect::<Vec<_>>()))
    })
}

fn of_session(view: &View<'_>, at: usize, finding: &SessionFinding) -> Line {
    let cards = &view.outcome.cards;
    let id = |at: CardPlace| cards.get(at.get()).map_or_else(String::new, |c| c.key.id.clone());
    Line {
        scope: "session",
        episode: None,
        path: None,
        first_row: None,
        end_row: None,
        task: None,
        severity: finding.severity,
        check: finding.check,
        metric: finding.metric,
        joint: finding.joint,
        value: finding.value,
        limit: finding.limit,
        spans: Vec::new(),
        episodes: Some(finding.episodes),
        of: Some(finding.of),
        stretch: finding.stretch.map(|s| [id(s.first), id(s.last)]),
        known: view.known_of_session(at),
        message: session_message(finding, cards, view.rig),
    }
}

fn of_episode(view: &View<'_>, place: CardPlace, at: usize, finding: &Finding) -> Line {
    let card = view.card(place);
    let source = source(view, card);
    Line {
        scope: "episode",
        episode: Some(card.key.id.clone()),
        path: Some(source.path),
        first_row: Some(source.rows[0]),
        end_row: Some(source.rows[1]),
        task: card.key.task.as_deref().map(str::to_owned),
        severity: finding.severity,
        check: finding.check,
        metric: finding.metric,
        joint: finding.joint,
        value: finding.value,
        limit: finding.limit,
        spans: spans(card, at, finding),
        episodes: None,
        of: None,
        stretch: None,
        known: view.known(card, finding),
        message: finding_message(finding, view.rig),
    }
}

fn columns(view: &View<'_>, rows: &[Line]) -> Vec<Column> {
    let text = |name, of: &dyn Fn(&Line) -> Option<String>| Column {
        name,
        values: Values::Text(rows.iter().map(of).collect()),
    };
    let whole = |name, of: &dyn Fn(&Line) -> Option<u64>| Column {
        name,
        values: Values::Whole(rows.iter().map(of).collect()),
    };
    let number = |name, of: &dyn Fn(&Line) -> Option<f64>| Column {
        name,
        values: Values::Number(rows.iter().map(|r| of(r).filter(|v| v.is_finite())).collect()),
    };
    let plain = |text: &str| Some(text.to_owned()).filter(|text| !text.is_empty());
    let stretch = |end: usize| move |r: &Line| Some(r.stretch.as_ref()?[end].clone());
    // A finding that shows throughout has no stretch of frames.
    let first = |r: &Line| r.spans.iter().map(|span| span.frames[0]).min();
    let end = |r: &Line| r.spans.iter().map(|span| span.frames[1]).max();
    let from = |r: &Line| r.spans.iter().filter_map(|span| span.time_s[0]).reduce(f64::min);
    let to = |r: &Line| r.spans.iter().filter_map(|span| span.time_s[1]).reduce(f64::max);
    let known = rows.iter().map(|row| row.known).collect();
    let all = rows.iter().map(|row| cells(&row.spans)).collect();
    vec![
        text("scope", &|r| plain(r.scope)),
        text("episode", &|r| r.episode.clone()),
        text("path", &|r| r.path.clone()),
        whole("first_row", &|r| r.first_row),
        whole("end_row", &|r| r.end_row),
        text("task", &|r| r.task.clone()),
        text("severity", &|r| plain(word(r.severity))),
        text("check", &|r| plain(r.check.id)),
        text("metric", &|r| plain(r.metric.id)),
        text("joint", &|r| plain(view.joint(r.joint))),
        number("value", &|r| Some(r.value)),
        number("limit", &|r| Some(r.limit)),
        text("unit", &|r| plain(view.unit(r.metric, r.joint))),
        whole("first_frame", &first),
        whole("end_frame", &end),
        number("from_s", &from),
        number("to_s", &to),
        Column { name: "spans", values: Values::Spans(all) },
        whole("episodes", &|r| r.episodes),
        whole("of", &|r| r.of),
        text("first_episode", &stretch(0)),
        text("last_episode", &stretch(1)),
        Column { name: "known", values: Values::Flag(known) },
        text("message", &|r| plain(&r.message)),
        text("cause", &|r| plain(r.check.cause)),
        text("remedy", &|r| plain(r.check.remedy)),
        text("recovery", &|r| r.metric.recovery.map(str::to_owned)),
    ]
}

/// A severity as one word.
const fn word(severity: Severity) -> &'static str {
    match severity {
        Severity::Warn => "warn",
        Severity::Fail => "fail",
    }
}
