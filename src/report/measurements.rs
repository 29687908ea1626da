//! The table of measurements: value, limit, bar and status in fixed columns.

use std::cmp::Ordering;

use super::bar::{HEADING, bar};
use super::number::Human;
use super::status::Status;
use super::table::Worst;
use super::text::{clean, cut};
use super::view::View;
use crate::judge::{excess, severity};
use crate::model::{Bound, CheckSpec, JointId, Metric, Scorecard, Severity};

/// Lines of checks that could not be assessed before they are folded into one.
const MOST_MISSING: usize = 6;

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
    let longest = rows.iter().map(|row| row.joint.chars().count()).max().unwrap_or(0);
    let joint_width = longest.clamp(5, 14);
    let label_width = room - joint_width;
    let head = ("measurement", "joint", heading, "limit", "unit");
    let mut lines = vec![
        format!(
            "  {:<label_width$} {:<joint_width$} {:>7} {:>6} {:<5} {HEADING} status",
            head.0, head.1, head.2, head.3, head.4
        )
        .trim_end()
        .to_owned(),
    ];
    for row in rows {
        let (value, limit, unit, image) = row.measured.map_or_else(
            || ("-".to_owned(), "-".to_owned(), "", " ".repeat(20)),
            |m| {
                let human = Human::of(m.metric, m.linear, m.limit);
                let image = bar(m.metric, m.value, m.limit);
                (human.number(m.value), human.number(m.limit), human.unit, image)
            },
        );
        let label = cut(&row.label, label_width);
        let joint = cut(&clean(row.joint), joint_width);
        lines.push(format!(
            "  {label:<label_width$} {joint:<joint_width$} {value:>7} {limit:>6} {unit:<5} \
             {image} {}",
            row.status.painted()
        ));
    }
    lines
}

/// One row per check over the session, worst first: of its measurements the one that lies farthest
/// beyond its limit, or the leading one if none does; at its worst reading.
pub(super) fn of_session<'a>(view: &View<'a>, worst: &[Worst]) -> Vec<Row<'a>> {
    let mut rows = Vec::new();
    for check in view.checks {
        let of = |metric: &'static Metric| {
            let of = worst.iter().filter(|s| std::ptr::eq(s.metric, metric));
            // Ties go to the first joint: `max_by` keeps the last, so it goes through backwards.
            let worst = of.rev().max_by(|a, b| worse(metric, a.value, b.value))?;
            shown(view, check, metric, worst.joint, worst.value)
        };
        let shown: Vec<Shown> = check.metrics.iter().filter_map(|metric| of(metric)).collect();
        // What was measured and has no limit of its own is no gap.
        let hole = view.outcome.session.not_assessed.iter().any(|h| h.check.id == check.id)
            && !view.measured(check);
        match worst_of(&shown) {
            Some(shown) => rows.push(row(view, check, shown)),
            None if hole => rows.push(not_assessed(check)),
            None => {}
        }
    }
    rows.sort_by_key(|row| row.status.rank());
    fold(&mut rows);
    rows
}

/// Many checks that could not be assessed are one line: they are told with their reasons below,
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

/// The rows of one card, in the order of the checks: every joint beyond a limit, or the worst joint
/// of the leading measurement if none is; a line without numbers for a check that could not be
/// assessed.
pub(super) fn of_card<'a>(view: &View<'a>, card: &Scorecard) -> Vec<Row<'a>> {
    let mut rows = Vec::new();
    for check in view.checks {
        let readings: Vec<Shown> = check
            .metrics
            .iter()
            .flat_map(|metric| card.reported().filter(|r| std::ptr::eq(r.metric, *metric)))
            .filter_map(|r| shown(view, check, r.metric, r.joint, r.value))
            .collect();
        let mut joints: Vec<Option<JointId>> = Vec::new();
        for reading in readings.iter().filter(|r| r.severity.is_some()) {
            if !joints.contains(&reading.joint) {
                joints.push(reading.joint);
            }
        }
        for joint in &joints {
            let of: Vec<Shown> = readings.iter().filter(|r| r.joint == *joint).copied().collect();
            rows.extend(worst_of(&of).map(|shown| row(view, check, shown)));
        }
        let hole = card.not_assessed.iter().any(|h| h.check.id == check.id)
            && !card.reported().any(|reading| std::ptr::eq(reading.check, *check));
        if joints.is_empty() {
            let leading = readings.first().map(|first| first.metric);
            let of = readings.iter().filter(|r| leading.is_some_and(|l| std::ptr::eq(l, r.metric)));
            match of.rev().max_by(|a, b| worse(a.metric, a.value, b.value)) {
                Some(shown) => rows.push(row(view, check, shown)),
                None if hole => rows.push(not_assessed(check)),
                None => {}
            }
        }
    }
    rows
}

/// A reading with the limit it is shown against.
#[derive(Debug, Clone, Copy)]
struct Shown {
    metric: &'static Metric,
    joint: Option<JointId>,
    value: f64,
    limit: f64,
    severity: Option<Severity>,
}

/// Holds a reading against its limit; `None` for what is never judged.
fn shown(
    view: &View<'_>,
    check: &CheckSpec,
    metric: &'static Metric,
    joint: Option<JointId>,
    value: f64,
) -> Option<Shown> {
    let limits = view.limits.get(check, metric);
    let crossed = severity(check, metric.bound, limits, value);
    let limit = crossed.map(|(_, limit)| limit).or(limits.warn).or(limits.fail)?;
    Some(Shown { metric, joint, value, limit, severity: crossed.map(|(severity, _)| severity) })
}

/// The one farthest beyond its limit; the first if none is.
fn worst_of(shown: &[Shown]) -> Option<&Shown> {
    let beyond = |s: &&Shown| s.severity.is_some();
    let far = |s: &Shown| excess(s.metric.bound, s.limit, s.value);
    let worst = shown.iter().filter(beyond).rev();
    let worst = worst.max_by(|a, b| a.severity.cmp(&b.severity).then(far(a).total_cmp(&far(b))));
    worst.or(shown.first())
}

/// Order of readings of one measurement, the worse the greater.
fn worse(metric: &Metric, a: f64, b: f64) -> Ordering {
    match metric.bound {
        Bound::Below(_) => b.total_cmp(&a),
        Bound::Above(_) | Bound::Unjudged => a.total_cmp(&b),
    }
}

fn row<'a>(view: &View<'a>, check: &CheckSpec, shown: &Shown) -> Row<'a> {
    let linear = view.linear(shown.joint);
    let Shown { metric, value, limit, .. } = *shown;
    Row {
        label: check.title().to_owned(),
        joint: view.joint(shown.joint),
        measured: Some(Measured { metric, linear, value, limit }),
        status: shown.severity.map_or(Status::Ok, Status::from),
    }
}

fn not_assessed<'a>(check: &CheckSpec) -> Row<'a> {
    let label = check.title().to_owned();
    Row { label, joint: "", measured: None, status: Status::NotAssessed }
}
