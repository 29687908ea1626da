//! The scorecard as columns for the script: every text once, numbers by index.

use std::collections::{HashMap, HashSet};
use std::io::{self, Write};

use serde::Serialize;

use super::gaps::Gaps;
use crate::judge::scaled;
use crate::model::{CardPlace, CheckSpec, Finding, Rig, Scorecard, Severity};
use crate::report::text::clean;
use crate::report::words::message;
use crate::source::Input;

/// What the script is given.
pub(super) struct PageData<'a> {
    pub rig: &'a Rig,
    /// Files that the cards were read from.
    pub inputs: &'a [Input],
    pub cards: &'a [Scorecard],
    /// Their places, worst first.
    pub worst: &'a [CardPlace],
    /// Checks that a finding may be of.
    pub checks: &'a [&'static CheckSpec],
    /// Command that shows a trace, to be completed by the episode; none without the data.
    pub trace: Option<String>,
    /// Places of the cards whose traces are in the page, in order of worth.
    pub traces: Vec<CardPlace>,
    /// Joints that are drawn unless one alone is chosen; all where not said.
    pub drawn: Option<&'a [usize]>,
    /// Seconds that are drawn at first; all where not said.
    pub window_s: Option<(f64, f64)>,
    /// What was not assessed, for the overview; none where there is no overview.
    pub gaps: Option<Gaps>,
}

/// Multiples of its limit beyond which a finding is not drawn any farther.
const MOST_FAR: f64 = 9.0;

/// A check's name and title.
#[derive(Serialize)]
struct CheckName {
    id: &'static str,
    title: String,
}

/// Seconds from and to, first and last frame.
type SpanRow = (f64, f64, u32, u32);

/// Everything that the tables show.
#[derive(Serialize)]
struct Rows<'a> {
    words: Vec<String>,
    checks: Vec<CheckName>,
    joints: Vec<&'a str>,
    units: Vec<&'static str>,
    trace: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    drawn: Option<&'a [usize]>,
    #[serde(skip_serializing_if = "Option::is_none")]
    window: Option<(f64, f64)>,
    #[serde(skip_serializing_if = "Option::is_none")]
    gaps: Option<&'a Gaps>,
    worst: &'a [CardPlace],
    traces: Vec<CardPlace>,
    id: Vec<&'a str>,
    files: Vec<String>,
    /// Where each episode lies: its file, first row and number of rows.
    file: Vec<u32>,
    row: Vec<u64>,
    lines: Vec<u64>,
    verdict: Vec<u8>,
    frames: Vec<usize>,
    length: Vec<f64>,
    task: Vec<i64>,
    /// First finding of each episode, and one beyond the last.
    first: Vec<usize>,
    check: Vec<usize>,
    joint: Vec<i32>,
    severity: Vec<u8>,
    what: Vec<usize>,
    size: Vec<usize>,
    limit: Vec<usize>,
    /// How far each finding is on the way to its limit, which is 1; 9 for what lies very far beyond.
    far: Vec<f64>,
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
pub(super) fn write(data: &PageData<'_>, out: &mut dyn Write) -> io::Result<()> {
    let rows = gather(data);
    let text = serde_json::to_string(&rows).map_err(io::Error::other)?;
    let text = text.replace('<', "\\u003c");
    writeln!(out, "<script type=\"application/json\" id=\"data\">{text}</script>")
}

fn gather<'a>(data: &'a PageData<'a>) -> Rows<'a> {
    let cards = data.cards;
    let traced: HashSet<CardPlace> = data.traces.iter().copied().collect();
    let mut words = Words::default();
    let joints = data.rig.joints.iter();
    let mut rows = Rows {
        words: Vec::new(),
        checks: data.checks.iter().map(|c| CheckName { id: c.id, title: c.title() }).collect(),
        joints: joints.clone().map(|joint| joint.name.as_str()).collect(),
        units: joints.map(|joint| if joint.linear { "mm" } else { "deg" }).collect(),
        trace: data.trace.clone(),
        drawn: data.drawn,
        window: data.window_s,
        gaps: data.gaps.as_ref(),
        worst: data.worst,
        traces: data.traces.clone(),
        id: cards.iter().map(|card| card.key.id.as_str()).collect(),
        files: data.inputs.iter().map(|input| clean(&input.path.display().to_string())).collect(),
        file: cards.iter().map(|card| card.key.rows.input).collect(),
        row: cards.iter().map(|card| card.key.rows.start).collect(),
        lines: cards.iter().map(lines_of).collect(),
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
        what: Vec::new(),
        size: Vec::new(),
        limit: Vec::new(),
        far: Vec::new(),
        spans: Vec::new(),
    };
    for (place, card) in CardPlace::all(cards.len()).zip(cards) {
        for (nth, finding) in card.findings.iter().enumerate() {
            rows.finding(data, finding, &mut words);
            let times = card.span_times_s.get(nth).map_or(&[][..], Vec::as_slice);
            // Spans are drawn on traces; elsewhere they would only take room.
            let spans = finding.spans.as_slice().iter().zip(times);
            let spans = traced.contains(&place).then(|| {
                spans
                    .map(|(s, t)| {
                        let last = s.end.saturating_sub(1).max(s.start);
                        (hundredths(t[0]), hundredths(t[1]), s.start, last)
                    })
                    .collect::<Vec<SpanRow>>()
            });
            rows.spans.push(spans.filter(|spans| !spans.is_empty()));
        }
        rows.first.push(rows.check.len());
    }
    rows.words = words.all;
    rows
}

impl Rows<'_> {
    fn finding(&mut self, data: &PageData<'_>, finding: &Finding, words: &mut Words) {
        let known = data.checks.iter().position(|check| check.id == finding.check.id);
        let message = message(finding, data.rig);
        self.check.push(known.unwrap_or(0));
        self.joint.push(finding.joint.map_or(-1, i32::from));
        self.severity.push(if finding.severity == Severity::Fail { 2 } else { 1 });
        self.what.push(words.of(&message.what));
        self.size.push(words.of(&message.size));
        self.limit.push(words.of(&message.limit));
        let far = scaled(finding.metric.bound, finding.value, finding.limit);
        self.far.push(hundredths(far.min(MOST_FAR)));
    }
}

fn lines_of(card: &Scorecard) -> u64 {
    card.key.rows.end.saturating_sub(card.key.rows.start)
}

fn hundredths(value: f64) -> f64 {
    if value.is_finite() { (value * 100.0).round() / 100.0 } else { 0.0 }
}
