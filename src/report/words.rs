//! Sentences about findings.

use super::number::Human;
use super::text::count;
use crate::model::{Bound, CheckSpec, Finding, Metric, Rig, SessionFinding};
use std::fmt::Write as _;

/// A measurement's name in plain words: `dropped share`.
pub(super) fn metric_name(metric: &Metric) -> String {
    metric.id.replace('_', " ")
}

/// What a finding says: `tracking lag elbow: lag 233 ms, limit 150 ms`.
pub fn finding_message(finding: &Finding, rig: &Rig) -> String {
    let joint = finding.joint.map(|j| rig.joint_name(j));
    let linear = finding.joint.and_then(|j| rig.joints.get(j as usize)).is_some_and(|j| j.linear);
    let human = Human::of(finding.metric, linear, finding.limit);
    let mut text = place(joint, finding.check, finding.metric);
    let _ = write!(
        text,
        " {}, {} {}",
        human.quantity(finding.value),
        limit_word(finding.metric),
        human.quantity(finding.limit)
    );
    if !finding.note.is_empty() {
        text.push_str("; ");
        text.push_str(&finding.note);
    }
    text
}

/// What a finding of the session says: `neutral offset elbow: offset 4.20 deg (median) in 48 of 50
/// episodes, limit 2.00 deg`.
pub fn session_message(finding: &SessionFinding, rig: &Rig) -> String {
    let joint = finding.joint.map(|j| rig.joint_name(j));
    let linear = finding.joint.and_then(|j| rig.joints.get(j as usize)).is_some_and(|j| j.linear);
    let human = Human::of(finding.metric, linear, finding.limit);
    format!(
        "{} {} (median) in {} of {}, {} {}",
        place(joint, finding.check, finding.metric),
        human.quantity(finding.value),
        finding.episodes,
        count(finding.of, "episode"),
        limit_word(finding.metric),
        human.quantity(finding.limit),
    )
}

fn limit_word(metric: &Metric) -> &'static str {
    match metric.bound {
        Bound::Below(_) => "least",
        Bound::Above(_) | Bound::Unjudged => "limit",
    }
}

/// `dead joint waist: motion counts`; the measurement is left out where the title says it.
fn place(joint: Option<&str>, check: &CheckSpec, metric: &Metric) -> String {
    let name = metric_name(metric);
    let place = match joint {
        Some(joint) => format!("{} {joint}", check.title),
        None => check.title.to_owned(),
    };
    if check.title == name { place } else { format!("{place}: {name}") }
}

/// Titles of the checks concerned, each once, in order: `tracking lag, dropped frames`.
pub(super) fn titles(checks: impl IntoIterator<Item = &'static CheckSpec>, most: usize) -> String {
    let mut seen: Vec<&str> = Vec::new();
    for check in checks {
        if !seen.contains(&check.title) {
            seen.push(check.title);
        }
    }
    let more = seen.len().saturating_sub(most);
    seen.truncate(most);
    let mut text = seen.join(", ");
    if more > 0 {
        let _ = write!(text, " and {more} more");
    }
    text
}
