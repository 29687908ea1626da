//! The measurements of a session as the page shows them: distribution, worst joint, course.

use minijinja::Value;

use super::course::{Session, course};
use super::figures::distribution;
use super::template::class;
use crate::judge::{Course, Shown};
use crate::report::number::Human;
use crate::report::status::Status;
use crate::report::text::count;
use crate::report::view::View;
use crate::report::words::metric_name;

/// Measurements drawn over the session.
const DRIFTS: usize = 6;

pub(super) fn groups(view: &View<'_>, courses: &[Course]) -> Vec<Value> {
    let (bad, good): (Vec<&Course>, Vec<&Course>) =
        courses.iter().partition(|one| one.worst.severity.is_some());
    let mut groups = Vec::new();
    let title = |n: usize, what: &str| format!("{} {what}", count(n as u64, "measurement"));
    for (list, what, folded) in
        [(bad, "beyond a limit", false), (good, "within limits", !courses.is_empty())]
    {
        if list.is_empty() {
            continue;
        }
        let rows: Vec<Value> = list.iter().map(|one| row(view, one)).collect();
        groups.push(minijinja::context! { title => title(rows.len(), what), folded, rows });
    }
    groups
}

fn row(view: &View<'_>, one: &Course) -> Value {
    let Shown { metric, joint, value, limit, severity } = one.worst;
    let status = severity.map_or(Status::Ok, Status::from);
    let human = Human::of(metric, view.linear(joint), limit);
    let name = metric_name(metric);
    let name =
        if name == one.check.title() { name } else { format!("{}: {name}", one.check.title()) };
    let said = format!(
        "median {}, worst {}, limit {}",
        human.quantity(one.median),
        human.quantity(value),
        human.quantity(limit)
    );
    minijinja::context! {
        name,
        joint => view.joint(joint),
        chart => Value::from_safe_string(distribution(one, &said)),
        median => human.number(one.median),
        worst => human.number(value),
        limit => human.number(limit),
        unit => human.unit,
        class => class(status),
        word => status.word(),
    }
}

/// The measurements that say most, over the order of the episodes.
pub(super) fn drifts(view: &View<'_>, courses: &[Course]) -> Vec<Value> {
    if view.outcome.cards.len() < 3 {
        return Vec::new();
    }
    // What changes as the servos warm comes first; of the rest what lies beyond its limit.
    let steady = ["tracking-lag", "tracking-error", "neutral-offset"];
    let leading = |m: &Course| m.check.metrics[0].is(m.worst.metric);
    let (usual, rest): (Vec<&Course>, Vec<&Course>) =
        courses.iter().partition(|m| steady.contains(&m.check.id) && leading(m));
    let ids: Vec<&str> = view.outcome.cards.iter().map(|card| card.key.id.as_str()).collect();
    let bad = rest.into_iter().filter(|m| m.worst.severity.is_some());
    usual
        .into_iter()
        .chain(bad)
        .take(DRIFTS)
        .map(|one| {
            let Shown { metric, joint, limit, .. } = one.worst;
            let human = Human::of(metric, view.linear(joint), limit);
            let unit = if human.unit.is_empty() { "count" } else { human.unit };
            let name = format!("{}: {}, {unit}", one.check.title(), metric_name(metric));
            let said = format!("{name}: {} in order", count(one.values.len(), "episode"));
            let chart = course(one, human, &Session { ids: &ids, said: &said });
            let chart = Value::from_safe_string(chart);
            minijinja::context! { name, unit => human.unit, chart }
        })
        .collect()
}
