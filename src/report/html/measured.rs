//! The measurements of a session as the page shows them: spread, worst joint, course.

use minijinja::Value;

use super::figures::{course, on_scale, spread};
use super::page::class;
use crate::judge::severity;
use crate::model::{Bound, CheckSpec, JointId, Metric};
use crate::num::quantile::median_in_place;
use crate::report::number::Human;
use crate::report::status::Status;
use crate::report::text::count;
use crate::report::view::View;
use crate::report::words::metric_name;

/// Measurements drawn over the session.
const DRIFTS: usize = 6;

/// A measurement over the episodes.
pub(super) struct Measured {
    check: &'static CheckSpec,
    metric: &'static Metric,
    joint: Option<JointId>,
    limit: f64,
    /// The worst joint's reading of each episode.
    values: Vec<f32>,
    median: f64,
    worst: f64,
    status: Status,
}

/// Every judged measurement, at its worst joint.
pub(super) fn measured(view: &View<'_>) -> Vec<Measured> {
    let mut all: Vec<Measured> = Vec::new();
    let rows = view.outcome.ledger.rows();
    for (check, metric, joint, values) in view.outcome.ledger.columns() {
        let limits = view.limits.get(check, metric);
        let Some(first) = limits.warn.or(limits.fail) else { continue };
        if matches!(metric.bound, Bound::Unjudged) {
            continue;
        }
        let worse = |a: f32, b: f32| match metric.bound {
            Bound::Below(_) => a < b,
            Bound::Above(_) | Bound::Unjudged => a > b,
        };
        let known = all.iter().position(|m| std::ptr::eq(m.metric, metric));
        let at = known.unwrap_or_else(|| {
            all.push(Measured {
                check,
                metric,
                joint,
                limit: first,
                values: vec![f32::NAN; rows],
                median: f64::NAN,
                worst: f64::NAN,
                status: Status::Ok,
            });
            all.len() - 1
        });
        let one = &mut all[at];
        for (kept, &value) in one.values.iter_mut().zip(values) {
            if value.is_finite() && (kept.is_nan() || worse(value, *kept)) {
                *kept = value;
            }
            if value.is_finite() && (one.worst.is_nan() || worse(value, one.worst as f32)) {
                one.worst = f64::from(value);
                one.joint = joint;
            }
        }
    }
    all.retain(|one| one.worst.is_finite());
    for one in &mut all {
        let mut finite: Vec<f32> = one.values.iter().copied().filter(|v| v.is_finite()).collect();
        one.median = median_in_place(&mut finite);
        let limits = view.limits.get(one.check, one.metric);
        if let Some((severity, limit)) = severity(one.check, one.metric.bound, limits, one.worst) {
            one.limit = limit;
            one.status = Status::from(severity);
        }
    }
    let place = |one: &Measured| view.checks.iter().position(|c| c.id == one.check.id);
    let far = |one: &Measured| on_scale(one.metric, one.worst, one.limit);
    all.sort_by(|a, b| {
        let rank = a.status.rank().cmp(&b.status.rank());
        rank.then(far(b).total_cmp(&far(a))).then(place(a).cmp(&place(b)))
    });
    all
}

pub(super) fn groups(view: &View<'_>, measured: &[Measured]) -> Vec<Value> {
    let (bad, good): (Vec<&Measured>, Vec<&Measured>) =
        measured.iter().partition(|m| m.status != Status::Ok);
    let mut groups = Vec::new();
    let title = |n: usize, what: &str| format!("{} {what}", count(n as u64, "measurement"));
    for (list, what, folded) in
        [(bad, "beyond a limit", false), (good, "within limits", !measured.is_empty())]
    {
        if list.is_empty() {
            continue;
        }
        let rows: Vec<Value> = list.iter().map(|one| row(view, one)).collect();
        groups.push(minijinja::context! { title => title(rows.len(), what), folded, rows });
    }
    groups
}

fn row(view: &View<'_>, one: &Measured) -> Value {
    let human = Human::of(one.metric, view.linear(one.joint), one.limit);
    let name = metric_name(one.metric);
    let name =
        if name == one.check.title() { name } else { format!("{}: {name}", one.check.title()) };
    let said = format!(
        "median {}, worst {}, limit {}",
        human.quantity(one.median),
        human.quantity(one.worst),
        human.quantity(one.limit)
    );
    minijinja::context! {
        name,
        joint => view.joint(one.joint),
        chart => Value::from_safe_string(spread(one.metric, &one.values, one.limit, &said)),
        median => human.number(one.median),
        worst => human.number(one.worst),
        limit => human.number(one.limit),
        unit => human.unit,
        class => class(one.status),
        word => one.status.word(),
    }
}

/// The measurements that say most, over the order of the episodes.
pub(super) fn drifts(view: &View<'_>, measured: &[Measured]) -> Vec<Value> {
    if view.outcome.cards.len() < 3 {
        return Vec::new();
    }
    // What changes as the servos warm comes first; of the rest what lies beyond its limit.
    let steady = ["tracking-lag", "tracking-error", "neutral-offset"];
    let leading = |m: &Measured| std::ptr::eq(m.check.metrics[0], m.metric);
    let (usual, rest): (Vec<&Measured>, Vec<&Measured>) =
        measured.iter().partition(|m| steady.contains(&m.check.id) && leading(m));
    let bad = rest.into_iter().filter(|m| m.status != Status::Ok);
    usual
        .into_iter()
        .chain(bad)
        .take(DRIFTS)
        .map(|one| {
            let human = Human::of(one.metric, view.linear(one.joint), one.limit);
            let unit = if human.unit.is_empty() { "count" } else { human.unit };
            let name = format!("{}: {}, {unit}", one.check.title(), metric_name(one.metric));
            let said = format!("{} in order", count(one.values.len(), "episode"));
            let factor = human.factor();
            let chart = course(&one.values, Some(one.limit), factor, &said);
            minijinja::context! { name, chart => Value::from_safe_string(chart) }
        })
        .collect()
}
