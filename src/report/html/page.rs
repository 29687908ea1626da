//! The page around the data: what a person reads without a script.

use std::io;
use std::time::Duration;

use minijinja::Value;

use super::groups::breakdowns;
use super::measured::{drifts, groups};
use super::plan::plan;
use super::template::{class, fill, markup};
use crate::judge::Digest;
use crate::model::Unread;
use crate::report::files::trouble;
use crate::report::leave_out;
use crate::report::normalisation;
use crate::report::sentence;
use crate::report::text::{clean, count};
use crate::report::understood::read_as;
use crate::report::view::View;
use crate::source::{Input, RoleChoice};

/// Files and reasons named before a list is cut.
const MOST: usize = 200;

/// The script, part by part, in one scope.
const SCRIPT: &str = concat!(
    include_str!("data.js"),
    include_str!("marks.js"),
    include_str!("table.js"),
    include_str!("episode.js"),
    include_str!("plot.js"),
    include_str!("cursor.js"),
    include_str!("address.js"),
    include_str!("course.js"),
    include_str!("matrix.js"),
    include_str!("start.js"),
);

/// Loads the page again, in a scope of its own; `EVERY` is the time in milliseconds.
const RELOAD: &str = include_str!("reload.js");

/// Renders the page, with a mark where the data goes. With `every` it loads itself again so often.
pub(super) fn render(
    view: &View<'_>,
    left_out: usize,
    every: Option<Duration>,
) -> io::Result<String> {
    fill(include_str!("page.html"), context(view, left_out, every))
}

fn context(view: &View<'_>, left_out: usize, every: Option<Duration>) -> Value {
    let reload = every.map_or(String::new(), |every| {
        format!("{{\n{}}}\n", RELOAD.replace("EVERY", &every.as_millis().to_string()))
    });
    let verdict = sentence::session(view);
    let measured = Digest::courses(view.outcome, view.limits, view.checks);
    let session = &view.outcome.session;
    minijinja::context! {
        title => clean(view.command),
        heading => clean(view.command),
        word => verdict.status.word(),
        class => class(verdict.status),
        sentence => format!("{} {}", verdict.text, verdict.limits).trim_end(),
        totals => format!("{}. {}", leave_out::totals(view), verdict.silent).trim_end(),
        read_as => clean(&read_as(view)),
        more => more(view),
        script => markup(&format!("{SCRIPT}{reload}")),
        live => every.is_some(),
        plan => plan(view),
        groups => groups(view, &measured),
        drifts => drifts(view, &measured),
        breakdowns => breakdowns(view),
        holds => view.unjudged().iter().map(|text| clean(text)).collect::<Vec<_>>(),
        normalisation => table(view),
        not_assessed => not_assessed(view),
        notices => view.rig.notices.clone(),
        unread => unread(&view.outcome.unread),
        command => clean(view.command),
        inputs_title => inputs_title(view.inputs),
        inputs => inputs(view.inputs),
        roles => roles(view.roles),
        traces_note => traces_note(view, left_out),
        episodes => session.episodes,
    }
}

/// What stands below the verdict where the plan does not say it.
fn more(view: &View<'_>) -> Vec<String> {
    let baseline = view.against_baseline().map(|text| format!("baseline: {text}"));
    let rest =
        if view.outcome.session.counts.fail == 0 { leave_out::all(view) } else { Vec::new() };
    rest.into_iter().chain(baseline).collect()
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

fn not_assessed(view: &View<'_>) -> Vec<String> {
    let session = &view.outcome.session;
    let mut said: Vec<String> = session
        .not_assessed
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

/// Files that were not read, and why; the first of them.
pub(in crate::report) fn unread(files: &[Unread]) -> Vec<String> {
    let one = |u: &Unread| {
        let path = clean(&u.path.display().to_string());
        format!("{path}: {}: {}", trouble(u), u.reason)
    };
    files.iter().take(MOST).map(one).collect()
}

/// What stands above a list of files.
pub(in crate::report) fn inputs_title(inputs: &[Input]) -> String {
    let all = inputs.len();
    let files = count(all as u64, "file");
    if all > MOST { format!("{files}, the first {MOST} shown") } else { files }
}

/// The files, the first of them.
pub(in crate::report) fn inputs(inputs: &[Input]) -> Vec<Value> {
    let shown = inputs.iter().take(MOST);
    shown
        .map(|input| {
            let path = clean(&input.path.display().to_string());
            let sum = input.sha256.clone().unwrap_or_default();
            minijinja::context! { path, bytes => input.bytes, rows => input.rows, sum }
        })
        .collect()
}

/// Which column plays which role, and why.
pub(in crate::report) fn roles(roles: &[RoleChoice]) -> Vec<String> {
    let played = roles.iter().filter(|role| !role.columns.is_empty());
    played
        .map(|role| format!("{}: {} ({})", role.role, clean(&role.columns.join(", ")), role.why))
        .collect()
}

fn traces_note(view: &View<'_>, left_out: usize) -> String {
    if left_out == 0 {
        return String::new();
    }
    let others = count(left_out as u64, "flagged episode");
    match view.trace {
        Some(trace) => {
            format!("{others} without a trace in this file, to keep it small: {trace} --episode ID")
        }
        None => format!("{others} without a trace: the data was not at hand"),
    }
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
    fn every_colour_of_text_and_lines_contrasts_with_its_background() {
        assert!((contrast("#000000", "#ffffff") - 21.0).abs() < 1e-9);
        let style = super::super::template::STYLE;
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
