//! Sentences about findings.

use super::number::Human;
use super::text::count;
use crate::model::{
    Bound, CardPlace, CheckSpec, Finding, Metric, Rig, Scorecard, SessionFinding, Severity, Stretch,
};
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

/// What a finding of the session says: `neutral offset elbow: offset median 4.20 deg (3.90 to 4.50)
/// in 20 of 50 episodes, from episode 31 on, limit 2.00 deg`; of a cohort check `session drift elbow:
/// offset over session 1.40 deg in 20 of 50 episodes, from episode 31 on, up, at once, limit 1.00 deg`.
pub fn session_message(finding: &SessionFinding, cards: &[Scorecard], rig: &Rig) -> String {
    let joint = finding.joint.map(|j| rig.joint_name(j));
    let human = session_unit(finding, rig);
    if !finding.note.is_empty() {
        return format!(
            "{} {}, {}, {} {}",
            place(joint, finding.check, finding.metric),
            session_extent(finding, cards, rig),
            super::text::clean(&finding.note),
            limit_word(finding.metric),
            human.quantity(finding.limit),
        );
    }
    let mut text = format!(
        "{} median {}, {} {}",
        place(joint, finding.check, finding.metric),
        session_extent(finding, cards, rig),
        limit_word(finding.metric),
        human.quantity(finding.limit),
    );
    if finding.at_limit {
        text.push_str(": at the limit");
    }
    text
}

/// Size with its interval, share and place: `4.20 deg (3.90 to 4.50) in 20 of 50 episodes, from
/// episode 31 on`.
pub(super) fn session_extent(finding: &SessionFinding, cards: &[Scorecard], rig: &Rig) -> String {
    let human = session_unit(finding, rig);
    let mut text = human.quantity(finding.value);
    if let Some(interval) = finding.interval {
        let (low, high) = (human.number(interval.low), human.number(interval.high));
        if low != high {
            let _ = write!(text, " ({low} to {high}");
            if interval.confidence < 0.95 {
                let _ = write!(text, " at {:.0} %", 100.0 * interval.confidence);
            }
            text.push(')');
        }
    }
    let _ = write!(text, " in {} of {}", finding.episodes, count(finding.of, "episode"));
    let id = |at: CardPlace| cards.get(at.get()).map_or("?", |card| card.key.id.as_str());
    if let Some(Stretch { first, last }) = finding.stretch {
        let _ = match (first.get(), last.get() + 1 >= cards.len()) {
            (_, true) => write!(text, ", from episode {} on", id(first)),
            (0, _) => write!(text, ", up to episode {}", id(last)),
            _ => write!(text, ", episodes {} to {}", id(first), id(last)),
        };
    }
    text
}

fn session_unit(finding: &SessionFinding, rig: &Rig) -> Human {
    let linear = finding.joint.and_then(|j| rig.joints.get(j as usize)).is_some_and(|j| j.linear);
    Human::of(finding.metric, linear, finding.limit)
}

/// What can be done for data that was recorded already; empty where nothing need be done.
pub(super) fn data_line(metric: &Metric, severity: Severity) -> String {
    match (metric.recovery, severity) {
        (Some(how), _) => format!("what is recorded is recoverable: {how}"),
        (None, Severity::Fail) => {
            "what is recorded cannot be put right: leave it out, record it again".to_owned()
        }
        (None, Severity::Warn) => String::new(),
    }
}

fn limit_word(metric: &Metric) -> &'static str {
    match metric.bound {
        Bound::Below(_) => "min",
        Bound::Above(_) | Bound::Unjudged => "limit",
    }
}

/// `dead joint waist: motion counts`; the measurement is left out where the title says it.
fn place(joint: Option<&str>, check: &CheckSpec, metric: &Metric) -> String {
    let name = metric_name(metric);
    let place = match joint {
        Some(joint) => format!("{} {joint}", check.title()),
        None => check.title(),
    };
    if check.title() == name { place } else { format!("{place}: {name}") }
}

/// Titles of the checks concerned, each once, in order: `tracking lag, dropped frames`.
pub(super) fn titles(checks: impl IntoIterator<Item = &'static CheckSpec>, most: usize) -> String {
    let mut seen: Vec<String> = Vec::new();
    for check in checks {
        if !seen.contains(&check.title()) {
            seen.push(check.title());
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
