//! One episode as a page of its own: its verdict, what is flagged, and leader and follower joint by
//! joint, to be moved along and looked into.

use std::io::{self, Write};

use minijinja::Value;

use super::page::{inputs, inputs_title};
use super::template::class;
use super::template::{fill, markup};
use super::trace::Trace;
use super::{rows, with_data};
use crate::model::{CardPlace, CheckSpec};
use crate::report::sentence;
use crate::report::text::{clean, count};
use crate::report::trace::Traced;
use crate::report::words::finding_message;

/// The script, part by part, in one scope.
const SCRIPT: &str = concat!(
    include_str!("data.js"),
    include_str!("marks.js"),
    include_str!("episode.js"),
    include_str!("plot.js"),
    include_str!("cursor.js"),
    include_str!("start_one.js"),
);

/// Writes an episode as a page.
///
/// # Errors
/// If the output cannot be written.
pub fn trace_html(traced: &Traced<'_>, out: &mut dyn Write) -> io::Result<()> {
    let card = traced.card;
    let mut checks: Vec<&'static CheckSpec> = card.findings.iter().map(|f| f.check).collect();
    checks.sort_by_key(|check| check.id);
    checks.dedup_by_key(|check| check.id);
    let (from_s, to_s) = traced.window_s;
    let window_s = (from_s.is_some() || to_s.is_some())
        .then(|| (from_s.unwrap_or(0.0), to_s.unwrap_or(card.duration_s)));
    let data = rows::PageData {
        rig: &traced.episode.rig,
        inputs: traced.inputs,
        cards: std::slice::from_ref(card),
        worst: &[CardPlace::new(0)],
        checks: &checks,
        trace: None,
        traces: vec![CardPlace::default()],
        drawn: Some(&traced.joints),
        window_s,
        gaps: None,
    };
    let page = fill(include_str!("one.html"), context(traced))?;
    with_data(&page, &data, &[Trace::alone(traced.episode, card)?], out)
}

fn context(traced: &Traced<'_>) -> Value {
    let card = traced.card;
    let rig = &traced.episode.rig;
    let verdict = sentence::episode(card);
    let findings: Vec<String> =
        card.findings.iter().map(|finding| clean(&finding_message(finding, rig))).collect();
    let remedies: Vec<Value> = remedies(traced);
    let not_assessed = card.not_assessed.iter().map(|hole| {
        let joint = hole.joint.map(|joint| clean(rig.joint_name(joint)));
        let place = joint.map_or_else(String::new, |joint| format!(" ({joint})"));
        format!("{}{place}: {}", hole.check.title(), clean(&hole.reason))
    });
    let suppressed = match card.suppressed.len() as u64 {
        0 => String::new(),
        n => format!("{} not shown.", count(n, "suppressed finding")),
    };
    minijinja::context! {
        title => clean(traced.command),
        word => verdict.status.word(),
        class => class(verdict.status),
        sentence => verdict.text,
        heading => clean(&traced.heading()),
        script => markup(SCRIPT),
        findings,
        remedies,
        suppressed,
        not_assessed => not_assessed.collect::<Vec<_>>(),
        notices => rig.notices.iter().map(|notice| clean(notice)).collect::<Vec<_>>(),
        command => clean(traced.command),
        inputs_title => inputs_title(traced.inputs),
        inputs => inputs(traced.inputs),
    }
}

/// What to do about what was found, each check once.
fn remedies(traced: &Traced<'_>) -> Vec<Value> {
    let mut checks: Vec<&'static CheckSpec> = Vec::new();
    for finding in &traced.card.findings {
        if !checks.iter().any(|check| check.id == finding.check.id) {
            checks.push(finding.check);
        }
    }
    let one = |check: &CheckSpec| {
        minijinja::context! { title => check.title(), cause => check.cause, remedy => check.remedy }
    };
    checks.into_iter().map(one).collect()
}
