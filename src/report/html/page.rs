//! The page around the data: what a person reads without a script.

use std::io;

use minijinja::value::Serde;
use minijinja::{AutoEscape, Environment, Value};
use serde::Serialize;

use super::figures::{course, on_scale, spread};
use crate::judge::severity;
use crate::model::{Bound, CheckSpec, JointId, Metric};
use crate::report::cautions;
use crate::report::leave_out;
use crate::report::normalisation;
use crate::report::number::{Human, significant};
use crate::report::sentence;
use crate::report::status::Status;
use crate::report::text::{clean, count};
use crate::report::view::View;
use crate::report::words::{data_line, metric_name, session_message};

/// Files and reasons named before a list is cut.
const MOST: usize = 200;
/// Measurements drawn over the session.
const DRIFTS: usize = 6;

#[derive(Serialize)]
struct BenchFault {
    class: &'static str,
    word: &'static str,
    message: String,
    cause: &'static str,
    remedy: &'static str,
    data: String,
}

struct Measured {
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

/// Renders the page, with a mark where the data goes.
pub(super) fn render(view: &View<'_>, left_out: usize) -> io::Result<String> {
    let mut environment = Environment::new();
    environment.set_auto_escape_callback(|_| AutoEscape::Html);
    environment.add_template("page", include_str!("page.html")).map_err(io::Error::other)?;
    let template = environment.get_template("page").map_err(io::Error::other)?;
    template.render(context(view, left_out)).map_err(io::Error::other)
}

fn context(view: &View<'_>, left_out: usize) -> Value {
    let verdict = sentence::session(view);
    let measured = measured(view);
    let safe = |text: &str| Value::from_safe_string(text.to_owned());
    let session = &view.outcome.session;
    let unread = view.outcome.unread.iter().take(MOST);
    let unread = unread.map(|u| format!("{}: {}", clean(&u.path.display().to_string()), u.reason));
    let causes: Vec<BenchFault> = view
        .session_findings()
        .iter()
        .map(|finding| BenchFault {
            class: class(Status::from(finding.severity)),
            word: Status::from(finding.severity).word(),
            message: session_message(finding, &view.outcome.cards, view.rig),
            cause: finding.check.cause,
            remedy: finding.check.remedy,
            data: data_line(finding.metric, finding.severity),
        })
        .collect();
    minijinja::context! {
        title => clean(view.command),
        word => verdict.status.word(),
        class => class(verdict.status),
        sentence => verdict.text,
        totals => totals(view),
        more => leave_out::rate(view).into_iter().chain(leave_out::lists(view)).collect::<Vec<_>>(),
        style => safe(include_str!("style.css")),
        script => safe(include_str!("script.js")),
        causes => Serde(causes),
        groups => groups(view, &measured),
        drifts => drifts(view, &measured),
        holds => view.holds().iter().map(|text| clean(text)).collect::<Vec<_>>(),
        normalisation => table(view),
        holes => holes(view),
        notices => view.rig.notices.clone(),
        unread => unread.collect::<Vec<_>>(),
        tool => format!("{} {}", env!("CARGO_PKG_NAME"), env!("CARGO_PKG_VERSION")),
        command => clean(view.command),
        inputs_title => inputs_title(view),
        inputs => inputs(view),
        roles => roles(view),
        traces_note => traces_note(view, left_out),
        cautions => cautions::FULL,
        episodes => session.episodes,
    }
}

fn class(status: Status) -> &'static str {
    match status {
        Status::Ok => "pass",
        Status::Warn => "warn",
        Status::Fail => "fail",
        Status::NotAssessed => "none",
    }
}

fn totals(view: &View<'_>) -> String {
    let session = &view.outcome.session;
    let minutes = |s: f64| significant(s / 60.0);
    let counts = session.counts;
    format!(
        "{} of {} minutes usable; {} clean, {} to look at, {} failed.",
        minutes(session.usable_s),
        minutes(session.duration_s),
        count(counts.pass, "episode"),
        counts.warn,
        counts.fail
    )
}

/// Every judged measurement, at its worst joint.
fn measured(view: &View<'_>) -> Vec<Measured> {
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
        one.median = crate::num::quantile::median_in_place(&mut finite);
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

fn groups(view: &View<'_>, measured: &[Measured]) -> Vec<Value> {
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
    let name = if name == one.check.title { name } else { format!("{}: {name}", one.check.title) };
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
fn drifts(view: &View<'_>, measured: &[Measured]) -> Vec<Value> {
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
            let name = format!("{}: {}, {unit}", one.check.title, metric_name(one.metric));
            let said = format!("{} episodes in order", one.values.len());
            let factor = human.factor();
            let chart = course(&one.values, Some(one.limit), factor, &said);
            minijinja::context! { name, chart => Value::from_safe_string(chart) }
        })
        .collect()
}

/// What a trainer would normalise with; none where no motion was sketched.
fn table(view: &View<'_>) -> Option<Value> {
    let lines = normalisation::lines(view);
    let misleading = normalisation::misleading(view).map(|text| clean(&text));
    let row = |line: &normalisation::Line<'_>| {
        let joint = clean(line.joint);
        minijinja::context! {
            vector => line.vector,
            joint,
            numbers => line.numbers.to_vec(),
            unit => line.unit,
            warning => line.warning.unwrap_or_default(),
        }
    };
    let rows: Vec<Value> = lines.iter().map(row).collect();
    (!rows.is_empty()).then(|| {
        let title = count(rows.len() as u64, "dimension");
        let headings = normalisation::HEADINGS.to_vec();
        minijinja::context! { title, about => normalisation::ABOUT, headings, misleading, rows }
    })
}

fn holes(view: &View<'_>) -> Vec<String> {
    let session = &view.outcome.session;
    let mut said: Vec<String> = session
        .holes
        .iter()
        .take(MOST)
        .map(|hole| {
            let joint = view.joint(hole.joint);
            let place = if joint.is_empty() { String::new() } else { format!(" ({joint})") };
            let of = count(session.episodes, "episode");
            let reason = &hole.reason;
            format!("{}{place}: {reason}, in {} of {of}", hole.check.id, hole.episodes)
        })
        .collect();
    said.extend(view.left_out());
    said
}

fn inputs_title(view: &View<'_>) -> String {
    let all = view.inputs.len();
    let files = count(all as u64, "file");
    if all > MOST { format!("{files}, the first {MOST} shown") } else { files }
}

fn inputs(view: &View<'_>) -> Vec<Value> {
    let shown = view.inputs.iter().take(MOST);
    shown
        .map(|input| {
            let path = clean(&input.path.display().to_string());
            minijinja::context! { path, bytes => input.bytes, rows => input.rows }
        })
        .collect()
}

fn roles(view: &View<'_>) -> Vec<String> {
    let played = view.roles.iter().filter(|role| !role.columns.is_empty());
    played
        .map(|role| format!("{}: {} ({})", role.role, clean(&role.columns.join(", ")), role.why))
        .collect()
}

fn traces_note(view: &View<'_>, left_out: usize) -> String {
    if left_out == 0 {
        return String::new();
    }
    let others = count(left_out as u64, "flagged episode");
    let trace = view.command.replacen(" audit ", " trace ", 1);
    format!("{others} without a trace in this file, to keep it small: {trace} --episode ID")
}

#[cfg(test)]
mod tests {
    /// Relative luminance of a colour of the style sheet: WCAG 2.2, definition of contrast ratio.
    fn luminance(hex: &str) -> f64 {
        let channel = |at: usize| {
            let value = f64::from(u8::from_str_radix(&hex[at..at + 2], 16).unwrap_or(0)) / 255.0;
            if value <= 0.040_45 { value / 12.92 } else { ((value + 0.055) / 1.055).powf(2.4) }
        };
        0.2126 * channel(1) + 0.7152 * channel(3) + 0.0722 * channel(5)
    }

    fn contrast(a: &str, b: &str) -> f64 {
        let (a, b) = (luminance(a), luminance(b));
        (a.max(b) + 0.05) / (a.min(b) + 0.05)
    }

    #[test]
    fn every_colour_of_text_and_lines_can_be_told_from_its_ground() {
        assert!((contrast("#000000", "#ffffff") - 21.0).abs() < 1e-9);
        let style = include_str!("style.css");
        let schemes: Vec<&str> = style.split(":root {").skip(1).collect();
        assert_eq!(schemes.len(), 2, "light and dark");
        for scheme in schemes {
            let token = |name: &str| {
                let at = scheme.find(&format!("--{name}: ")).unwrap_or_default();
                &scheme[at + name.len() + 4..][..7]
            };
            for ground in ["ground", "panel"] {
                for text in ["ink", "dim", "pass", "warn", "fail", "follower", "leader"] {
                    let ratio = contrast(token(text), token(ground));
                    assert!(ratio >= 4.5, "{text} on {ground}: {ratio:.2}");
                }
            }
        }
    }
}
