//! The table of measurements: value, limit, bar and status in fixed columns.

use super::bar::{HEADING, bar};
use super::number::Human;
use super::status::Status;
use super::table::MetricSummary;
use super::text::{clean, cut};
use super::view::View;
use super::words::metric_name;
use crate::model::{Bound, CheckSpec, JointId, Limit, Metric, Reading, Scorecard, Severity};

/// One line of the table.
#[derive(Debug, Clone)]
pub(super) struct Row<'a> {
    label: String,
    joint: &'a str,
    measured: Option<Measured>,
    status: Status,
}

#[derive(Debug, Clone, Copy)]
struct Measured {
    metric: &'static Metric,
    linear: bool,
    value: f64,
    limit: f64,
}

/// The table's lines, heading first.
pub(super) fn lines(rows: &[Row<'_>], heading: &str, width: usize) -> Vec<String> {
    let room = 26 + width.clamp(80, 120) - 80;
    let longest = rows.iter().map(|row| row.joint.chars().count()).max().unwrap_or(0);
    let joint_width = longest.clamp(5, 14);
    let label_width = room - joint_width;
    let head = ("measurement", "joint", heading, "limit", "unit");
    let mut lines = vec![
        format!(
            "  {:<label_width$} {:<joint_width$} {:>7} {:>6} {:<6} {HEADING} status",
            head.0, head.1, head.2, head.3, head.4
        )
        .trim_end()
        .to_owned(),
    ];
    for row in rows {
        let (value, limit, unit, picture) = row.measured.map_or_else(
            || ("-".to_owned(), "-".to_owned(), "", " ".repeat(20)),
            |m| {
                let human = Human::of(m.metric, m.linear, m.limit);
                let picture = bar(m.metric, m.value, m.limit);
                (human.number(m.value), human.number(m.limit), human.unit, picture)
            },
        );
        let label = cut(&row.label, label_width);
        let joint = cut(&clean(row.joint), joint_width);
        lines.push(format!(
            "  {label:<label_width$} {joint:<joint_width$} {value:>7} {limit:>6} {unit:<6} \
             {picture} {}",
            row.status.painted()
        ));
    }
    lines
}

/// One row per judged measurement over the session: its worst reading.
pub(super) fn of_session<'a>(view: &View<'a>, summaries: &[MetricSummary]) -> Vec<Row<'a>> {
    let severities = severities(view);
    let mut rows = Vec::new();
    // Ties go to the first joint: `max_by` keeps the last, so it goes through them backwards.
    for check in view.checks {
        for metric in check.metrics {
            let of = summaries.iter().filter(|s| std::ptr::eq(s.metric, *metric));
            let worst = |a: &&MetricSummary, b: &&MetricSummary| match metric.bound {
                Bound::Below(_) => b.worst.total_cmp(&a.worst),
                Bound::Above(_) | Bound::Unjudged => a.worst.total_cmp(&b.worst),
            };
            let Some(summary) = of.rev().max_by(worst) else { continue };
            let known = severities.iter().find(|(known, _)| std::ptr::eq(*known, *metric));
            let severity = known.map(|&(_, severity)| severity);
            let limit = shown_limit(view.limits.get(check, metric), severity);
            let Some(limit) = limit else { continue };
            rows.push(row(view, metric, summary.joint, summary.worst, limit, severity));
        }
    }
    rows
}

/// The rows of one card: every joint beyond its limit, or the worst joint if none is; a line
/// without numbers for a check that could not be assessed.
pub(super) fn of_card<'a>(view: &View<'a>, card: &Scorecard) -> Vec<Row<'a>> {
    let mut rows = Vec::new();
    for check in view.checks {
        let before = rows.len();
        for metric in check.metrics {
            let readings: Vec<&Reading> =
                card.readings.iter().filter(|r| std::ptr::eq(r.metric, *metric)).collect();
            let beyond: Vec<&&Reading> =
                readings.iter().filter(|r| severity_of(card, r).is_some()).collect();
            let worst = |a: &&&Reading, b: &&&Reading| match metric.bound {
                Bound::Below(_) => b.value.total_cmp(&a.value),
                Bound::Above(_) | Bound::Unjudged => a.value.total_cmp(&b.value),
            };
            let shown = if beyond.is_empty() {
                readings.iter().rev().max_by(worst).into_iter().collect()
            } else {
                beyond
            };
            for reading in shown {
                let severity = severity_of(card, reading);
                let Some(limit) = shown_limit(view.limits.get(check, metric), severity) else {
                    continue;
                };
                rows.push(row(view, metric, reading.joint, reading.value, limit, severity));
            }
        }
        let hole = card.holes.iter().any(|h| h.check.id == check.id);
        if rows.len() == before && hole {
            rows.push(not_assessed(check));
        }
    }
    rows
}

fn row<'a>(
    view: &View<'a>,
    metric: &'static Metric,
    joint: Option<JointId>,
    value: f64,
    limit: f64,
    severity: Option<Severity>,
) -> Row<'a> {
    let linear = view.linear(joint);
    Row {
        label: metric_name(metric),
        joint: view.joint(joint),
        measured: Some(Measured { metric, linear, value, limit }),
        status: severity.map_or(Status::Ok, Status::from),
    }
}

fn not_assessed<'a>(check: &CheckSpec) -> Row<'a> {
    let label = check.title.to_owned();
    Row { label, joint: "", measured: None, status: Status::NotAssessed }
}

/// The limit a row is drawn against: the one that was crossed, else the first to be met.
fn shown_limit(limit: Limit, severity: Option<Severity>) -> Option<f64> {
    match severity {
        Some(Severity::Fail) => limit.fail.or(limit.warn),
        Some(Severity::Warn) | None => limit.warn.or(limit.fail),
    }
}

fn severity_of(card: &Scorecard, reading: &Reading) -> Option<Severity> {
    let same = |f: &&crate::model::Finding| {
        std::ptr::eq(f.metric, reading.metric) && f.joint == reading.joint
    };
    card.findings.iter().filter(same).map(|f| f.severity).max()
}

/// The worst that any finding, of an episode or of the session, says of each measurement.
fn severities(view: &View<'_>) -> Vec<(&'static Metric, Severity)> {
    let systemic = view.session_findings().iter().map(|f| (f.metric, f.severity));
    let cards = view.outcome.cards.iter().flat_map(|card| &card.findings);
    let mut worst: Vec<(&'static Metric, Severity)> = Vec::new();
    for (metric, severity) in systemic.chain(cards.map(|f| (f.metric, f.severity))) {
        match worst.iter_mut().find(|(known, _)| std::ptr::eq(*known, metric)) {
            Some((_, known)) => *known = severity.max(*known),
            None => worst.push((metric, severity)),
        }
    }
    worst
}
