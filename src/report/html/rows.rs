//! The scorecard as columns for the script: every text once, numbers by index.

use std::collections::HashMap;
use std::io::{self, Write};

use serde::Serialize;

use super::trace::Trace;
use crate::model::{Finding, Severity};
use crate::report::number::Human;
use crate::report::table::ScoreTable;
use crate::report::view::View;
use crate::report::words::metric_name;

/// A check's name and title.
#[derive(Serialize)]
struct CheckName {
    id: &'static str,
    title: &'static str,
}

/// Seconds from and to, first frame, first frame after.
type SpanRow = (f64, f64, u32, u32);

/// Everything that the tables show.
#[derive(Serialize)]
struct Rows<'a> {
    words: Vec<String>,
    checks: Vec<CheckName>,
    joints: Vec<&'a str>,
    units: Vec<&'static str>,
    /// Command that shows a trace, to be completed by the episode; none without the data.
    trace: Option<String>,
    worst: Vec<usize>,
    /// Places of the episodes whose traces are in the page, in order of worth.
    traces: Vec<u64>,
    id: Vec<&'a str>,
    verdict: Vec<u8>,
    frames: Vec<usize>,
    length: Vec<f64>,
    task: Vec<i64>,
    /// First finding of each episode, and one beyond the last.
    first: Vec<usize>,
    check: Vec<usize>,
    joint: Vec<i32>,
    severity: Vec<u8>,
    metric: Vec<usize>,
    value: Vec<usize>,
    limit: Vec<usize>,
    note: Vec<usize>,
    /// Of each finding; none where its episode has no trace.
    spans: Vec<Option<Vec<SpanRow>>>,
}

/// Every text once.
#[derive(Default)]
struct Words {
    all: Vec<String>,
    at: HashMap<String, usize>,
}

impl Words {
    fn of(&mut self, text: &str) -> usize {
        if let Some(&at) = self.at.get(text) {
            return at;
        }
        self.all.push(text.to_owned());
        self.at.insert(text.to_owned(), self.all.len() - 1);
        self.all.len() - 1
    }
}

/// Writes the columns as an inert script; `<` is escaped, so that no name in it can end it.
pub(super) fn write(view: &View<'_>, traces: &[Trace], out: &mut dyn Write) -> io::Result<()> {
    let rows = gather(view, traces)?;
    let text = serde_json::to_string(&rows).map_err(io::Error::other)?;
    let text = text.replace('<', "\\u003c");
    writeln!(out, "<script type=\"application/json\" id=\"data\">{text}</script>")
}

fn gather<'a>(view: &View<'a>, traces: &[Trace]) -> io::Result<Rows<'a>> {
    let cards = &view.outcome.cards;
    let traced: std::collections::HashSet<u64> = traces.iter().map(|t| t.index).collect();
    let mut words = Words::default();
    let joints = view.rig.joints.iter();
    let mut rows = Rows {
        words: Vec::new(),
        checks: view.checks.iter().map(|c| CheckName { id: c.id, title: c.title }).collect(),
        joints: joints.clone().map(|joint| joint.name.as_str()).collect(),
        units: joints.map(|joint| if joint.linear { "mm" } else { "deg" }).collect(),
        trace: view.trace_command(),
        worst: ScoreTable::worst_first(cards).map_err(io::Error::other)?,
        traces: traces.iter().map(|trace| trace.index).collect(),
        id: cards.iter().map(|card| card.key.id.as_str()).collect(),
        verdict: cards.iter().map(|card| card.verdict as u8).collect(),
        frames: cards.iter().map(|card| card.frames).collect(),
        length: cards.iter().map(|card| hundredths(card.duration_s)).collect(),
        task: cards
            .iter()
            .map(|card| card.key.task.as_deref().map_or(-1, |task| words.of(task) as i64))
            .collect(),
        first: vec![0],
        check: Vec::new(),
        joint: Vec::new(),
        severity: Vec::new(),
        metric: Vec::new(),
        value: Vec::new(),
        limit: Vec::new(),
        note: Vec::new(),
        spans: Vec::new(),
    };
    for (at, card) in cards.iter().enumerate() {
        for (nth, finding) in card.findings.iter().enumerate() {
            rows.finding(view, finding, &mut words);
            let times = card.span_times_s.get(nth).map_or(&[][..], Vec::as_slice);
            // Spans are drawn on traces; elsewhere they would only take room.
            let spans = finding.spans.as_slice().iter().zip(times);
            let spans = traced.contains(&(at as u64)).then(|| {
                spans
                    .map(|(s, t)| (hundredths(t[0]), hundredths(t[1]), s.start, s.end))
                    .collect::<Vec<SpanRow>>()
            });
            rows.spans.push(spans.filter(|spans| !spans.is_empty()));
        }
        rows.first.push(rows.check.len());
    }
    rows.words = words.all;
    Ok(rows)
}

impl Rows<'_> {
    fn finding(&mut self, view: &View<'_>, finding: &Finding, words: &mut Words) {
        let known = view.checks.iter().position(|check| check.id == finding.check.id);
        let human = Human::of(finding.metric, view.linear(finding.joint), finding.limit);
        self.check.push(known.unwrap_or(0));
        self.joint.push(finding.joint.map_or(-1, i32::from));
        self.severity.push(if finding.severity == Severity::Fail { 2 } else { 1 });
        self.metric.push(words.of(&metric_name(finding.metric)));
        self.value.push(words.of(&human.quantity(finding.value)));
        self.limit.push(words.of(&human.quantity(finding.limit)));
        self.note.push(words.of(&finding.note));
    }
}

fn hundredths(value: f64) -> f64 {
    if value.is_finite() { (value * 100.0).round() / 100.0 } else { 0.0 }
}
