//! Sentences about findings.

use super::number::Human;
use super::text::count;
use crate::model::{
    Bound, CardPlace, CheckSpec, Finding, Metric, Rig, Scorecard, SessionFinding, Severity, Stretch,
};
use std::fmt::{self, Write as _};

/// A measurement's name in plain words: `dropped share`.
pub(super) fn metric_name(metric: &Metric) -> String {
    metric.id.replace('_', " ")
}

/// A message in the form that all have: what, where, how much, against what limit. In parts, so
/// that a page of many findings holds what they share once.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Message {
    /// What is beyond its limit, and where: `Tracking lag: joint elbow, lag`.
    pub what: String,
    /// How much it is: `233 ms`.
    pub size: String,
    /// What is particular to it, and the limit: ` (limit 150 ms).`
    pub limit: String,
}

impl fmt::Display for Message {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} {}{}", self.what, self.size, self.limit)
    }
}

/// What a finding says: `Tracking lag: joint elbow, lag 233 ms (limit 150 ms).`
pub fn finding_message(finding: &Finding, rig: &Rig) -> String {
    message(finding, rig).to_string()
}

/// The same in its parts.
pub(super) fn message(finding: &Finding, rig: &Rig) -> Message {
    let linear = finding.joint.and_then(|j| rig.joints.get(j as usize)).is_some_and(|j| j.linear);
    let human = Human::of(finding.metric, linear, typical(finding.limit, finding.value));
    Message {
        what: what(finding.joint.map(|j| rig.joint_name(j)), finding.check, finding.metric, ""),
        size: human.quantity(finding.value),
        limit: against(finding.metric, &finding.note, &human.quantity(finding.limit)),
    }
}

/// What a finding of the session says: `Neutral offset: joint elbow, offset median 4.20 deg (3.90
/// to 4.50) in 20 of 50 episodes, from episode 31 on (limit 2.00 deg).`; of a cohort check `Session
/// drift: joint elbow, offset over session 1.40 deg in 20 of 50 episodes, from episode 31 on, up,
/// at once (limit 1.00 deg).`
pub fn session_message(finding: &SessionFinding, cards: &[Scorecard], rig: &Rig) -> String {
    let joint = finding.joint.map(|j| rig.joint_name(j));
    let limit = session_unit(finding, rig).quantity(finding.limit);
    let note = super::text::clean(&finding.note);
    let statistic = if note.is_empty() { "median" } else { "" };
    let limit = match against(finding.metric, &note, &limit) {
        limit if finding.at_limit && note.is_empty() => limit.replacen(" (", " (at the ", 1),
        limit => limit,
    };
    let what = what(joint, finding.check, finding.metric, statistic);
    Message { what, size: session_extent(finding, cards, rig), limit }.to_string()
}

/// The size that decides the unit of both: the limit, where that is not zero.
fn typical(limit: f64, value: f64) -> f64 {
    if limit == 0.0 { value } else { limit }
}

/// A message with what to do about it.
pub(super) fn with_remedy(message: &str, check: &CheckSpec) -> String {
    format!("{message} To do: {}", check.remedy)
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
    Human::of(finding.metric, linear, typical(finding.limit, finding.value))
}

/// What can be done for data that was recorded already; empty where nothing need be done.
pub(super) fn data_line(metric: &Metric, severity: Severity) -> String {
    match (metric.recovery, severity) {
        (Some(how), _) if how.starts_with("as it is") => {
            format!("what is recorded can be used {how}")
        }
        (Some(how), _) => format!("what is recorded is recoverable: {how}"),
        (None, Severity::Fail) => {
            "what is recorded cannot be put right: leave it out, record it again".to_owned()
        }
        (None, Severity::Warn) => String::new(),
    }
}

/// The end of a message: what is particular to the finding, and its limit.
fn against(metric: &Metric, note: &str, limit: &str) -> String {
    let word = match metric.bound {
        Bound::Below(_) => "min",
        Bound::Above(_) | Bound::Unjudged => "limit",
    };
    let note = if note.is_empty() { String::new() } else { format!(", {note}") };
    format!("{note} ({word} {limit}).")
}

/// The begin of a message: `Dead joint: joint waist, motion counts`. The measurement is left out
/// where the title says it.
fn what(joint: Option<&str>, check: &CheckSpec, metric: &Metric, statistic: &str) -> String {
    let title = check.title();
    let name = Some(metric_name(metric)).filter(|name| *name != title).unwrap_or_default();
    let measured = format!("{name} {statistic}");
    let joint = joint.map(|joint| format!("joint {joint},"));
    let words = [joint.as_deref().unwrap_or_default(), measured.trim()];
    let words = words.iter().filter(|word| !word.is_empty()).copied().collect::<Vec<_>>();
    let colon = if words.is_empty() { ":" } else { ": " };
    format!("{}{colon}{}", capital(&title), words.join(" "))
}

/// With a capital in front.
pub(super) fn capital(text: &str) -> String {
    let mut letters = text.chars();
    let first = letters.next().map_or_else(String::new, |c| c.to_uppercase().to_string());
    first + letters.as_str()
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::{Family, Joint, SpanList, Unit};
    use crate::num::interval::Interval;

    static LAG: Metric = Metric::of_joint("lag", Unit::Second, "lag").above(Some(0.15), None);
    static FRAMES: Metric =
        Metric::of_episode("frames", Unit::Count, "frames").below(None, Some(20.0));
    static LOST: Metric = Metric::of_joint("lost", Unit::Second, "lost").above(None, Some(0.0));

    const fn check(id: &'static str) -> CheckSpec {
        CheckSpec {
            id,
            family: Family::Tracking,
            applies_to: crate::model::SignalKind::MOVING,
            needs: crate::model::Relation::Target,
            advisory: false,
            source: "",
            cause: "",
            remedy: "tighten the horn",
            reference: "",
            metrics: &[],
            params: &[],
        }
    }

    static TRACKING: CheckSpec = check("tracking-lag");
    static SHORT: CheckSpec = check("frames");
    static LOSS: CheckSpec = check("tracking-loss");

    fn rig() -> Rig {
        Rig { joints: vec![Joint::named("elbow")], ..Rig::default() }
    }

    fn finding(
        check: &'static CheckSpec,
        metric: &'static Metric,
        (value, limit): (f64, f64),
        note: &str,
    ) -> Finding {
        let joint = (metric.scope == crate::model::Scope::Joint).then_some(0);
        let (severity, spans, note) = (Severity::Warn, SpanList::default(), note.to_owned());
        Finding { check, metric, severity, joint, value, limit, spans, note }
    }

    #[test]
    fn a_message_says_what_where_how_much_and_against_what_limit() {
        for (finding, expected) in [
            (
                finding(&TRACKING, &LAG, (0.233, 0.15), ""),
                "Tracking lag: joint elbow, lag 233 ms (limit 150 ms).",
            ),
            // The title says what is measured.
            (finding(&SHORT, &FRAMES, (7.0, 20.0), ""), "Frames: 7 (min 20)."),
            (
                finding(&LOSS, &LOST, (1.5, 0.0), "voltage bears it out: down 20 %"),
                "Tracking loss: joint elbow, lost 1.50 s, voltage bears it out: down 20 % \
                 (limit 0 s).",
            ),
        ] {
            assert_eq!(finding_message(&finding, &rig()), expected);
        }
        let message = finding_message(&finding(&TRACKING, &LAG, (0.233, 0.15), ""), &rig());
        assert!(with_remedy(&message, &TRACKING).ends_with("150 ms). To do: tighten the horn"));
    }

    #[test]
    fn a_message_of_the_session_has_the_same_form() {
        let mut found = SessionFinding {
            check: &TRACKING,
            metric: &LAG,
            severity: Severity::Warn,
            joint: Some(0),
            value: 0.233,
            interval: Some(Interval { low: 0.2, high: 0.25, confidence: 0.96 }),
            read: 20,
            limit: 0.15,
            at_limit: false,
            episodes: 20,
            of: 24,
            stretch: None,
            note: String::new(),
        };
        assert_eq!(
            session_message(&found, &[], &rig()),
            "Tracking lag: joint elbow, lag median 233 ms (200 to 250) in 20 of 24 episodes \
             (limit 150 ms)."
        );
        found.at_limit = true;
        let message = session_message(&found, &[], &rig());
        assert!(message.ends_with("of 24 episodes (at the limit 150 ms)."), "{message}");
        (found.note, found.interval) = ("up, at once".to_owned(), None);
        assert_eq!(
            session_message(&found, &[], &rig()),
            "Tracking lag: joint elbow, lag 233 ms in 20 of 24 episodes, up, at once (limit 150 \
             ms)."
        );
    }
}
