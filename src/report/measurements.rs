//! The table of measurements: value, limit, bar and status in fixed columns.

use super::bar::{HEADING, bar};
use super::number::Human;
use super::status::Status;
use super::text::{clean, columns, row as row_of};
use super::view::View;
use crate::judge::{self, Digest, Shown};
use crate::model::{CheckSpec, Metric, Scorecard, Unit};

/// Lines of checks that could not be assessed before they are folded into one.
const MOST_MISSING: usize = 6;

/// From this share of its limit on, a reading is near it (engineering judgement, no source).
const NEAR: f64 = 0.8;

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
    let room = 27 + width.clamp(80, 120) - 80;
    let longest = |of: fn(&Row<'_>) -> usize| rows.iter().map(of).max().unwrap_or(0);
    let spare = room - longest(|row| columns(&row.label)).clamp(11, room - 14);
    let joint_width = longest(|row| columns(&clean(row.joint))).clamp(5, spare);
    let label_width = room - joint_width;
    let head = format!("{heading:>7} {:>6} {:<5} {HEADING} status", "limit", "unit");
    let mut lines = row_of(&[("measurement", label_width), ("joint", joint_width)], &head);
    for row in rows {
        let (value, limit, unit, image) = row.measured.map_or_else(
            || ("-".to_owned(), "-".to_owned(), "", " ".repeat(20)),
            |m| {
                let human = Human::of(m.metric, m.linear, m.limit);
                let image = bar(m.metric, m.value, m.limit);
                (human.number(m.value), human.number(m.limit), human.unit, image)
            },
        );
        let painted = row.status.painted();
        let numbers = format!("{value:>7} {limit:>6} {unit:<5} {image} {painted}");
        lines.extend(row_of(&[(&row.label, label_width), (row.joint, joint_width)], &numbers));
    }
    lines
}

/// The rows of the session, worst first.
pub(super) fn of_session<'a>(view: &View<'a>) -> Vec<Row<'a>> {
    let mut rows: Vec<Row<'a>> = view.digest.rows.iter().map(|of| row(view, of)).collect();
    fold(&mut rows);
    rows
}

/// The rows near a limit or beyond it that no cause of the plan says, worst first.
pub(super) fn near<'a>(view: &View<'a>) -> Vec<Row<'a>> {
    let said = |check: &CheckSpec| {
        let mut causes = view.digest.causes.iter();
        causes.any(|cause| cause.check.is(check) || cause.also.iter().any(|also| also.is(check)))
    };
    let close = |of: &&judge::Row| {
        of.shown.as_ref().is_some_and(|s| {
            let share = judge::scaled(s.metric.bound, s.value, s.limit);
            // Two things that are as large as each other have a ratio of 1, whatever the limit.
            let same = s.metric.unit == Unit::Ratio && s.value == 1.0;
            (s.severity.is_some() || (share >= NEAR && !same)) && !said(of.check)
        })
    };
    view.digest.rows.iter().filter(close).map(|of| row(view, of)).collect()
}

/// Checks of which every reading is within its limits.
pub(super) fn within(view: &View<'_>) -> usize {
    let ok = |of: &&judge::Row| of.shown.as_ref().is_some_and(|shown| shown.severity.is_none());
    view.digest.rows.iter().filter(ok).count()
}

/// Many checks that could not be assessed are one line: their reasons are given below,
/// and what was measured should not have to be looked for among them.
fn fold(rows: &mut Vec<Row<'_>>) {
    let missing = |row: &Row<'_>| row.status == Status::NotAssessed;
    let (Some(first), many) =
        (rows.iter().position(missing), rows.iter().filter(|row| missing(row)).count())
    else {
        return;
    };
    if many > MOST_MISSING {
        rows.drain(first..first + many - 1);
        rows[first].label = format!("{many} checks, see below");
    }
}

/// The rows of one card, in the order of the checks; a line without numbers for a check that could
/// not be assessed.
pub(super) fn of_card<'a>(view: &View<'a>, card: &Scorecard) -> Vec<Row<'a>> {
    let rows = Digest::card(card, view.limits, view.checks);
    rows.iter().map(|of| row(view, of)).collect()
}

fn row<'a>(view: &View<'a>, of: &judge::Row) -> Row<'a> {
    let label = of.check.title();
    let Some(Shown { metric, joint, value, limit, severity }) = of.shown else {
        return Row { label, joint: "", measured: None, status: Status::NotAssessed };
    };
    Row {
        label,
        joint: view.joint(joint),
        measured: Some(Measured { metric, linear: view.linear(joint), value, limit }),
        status: severity.map_or(Status::Ok, Status::from),
    }
}
