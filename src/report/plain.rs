//! One record a line, fields separated by tabs: for `grep`, `cut` and `sort`. SI values.

use std::io::{self, Write};

use super::view::View;
use super::words::{finding_message, session_message};
use crate::model::{Scorecard, Severity, path_text};
use crate::num::interval::Interval;

/// Writes every record of the session, or of one episode.
///
/// Lines are `session verdict episodes frames duration_s usable_s` ·
/// `session-finding severity check metric joint value limit unit episodes of message low high
/// confidence` (of the interval of the value) ·
/// `session-reading check metric joint value unit episodes of note` ·
/// `session-not-assessed check joint episodes reason` · `session-suppressed findings` ·
/// `episode id verdict frames duration_s` · `suppressed id check joint why check joint` (what explains it) ·
/// `finding id severity check metric joint value limit unit frames message` (half-open spans) ·
/// `not-assessed id check joint reason` · `unread path reason` ·
/// `different-columns path reason` · `skipped ending files` · `skipped-own path` ·
/// `baseline verdict known new`; what does not apply is `-`. The message of what a baseline has as well begins with `known: `.
///
/// # Errors
/// If the output cannot be written.
pub fn plain(view: &View<'_>, only: Option<&Scorecard>, out: &mut dyn Write) -> io::Result<()> {
    if let Some(card) = only {
        return episode(view, card, out);
    }
    let session = &view.outcome.session;
    for (at, finding) in session.findings.iter().enumerate() {
        let interval = |end: fn(Interval) -> f64| {
            finding.interval.map_or(String::new(), |i| end(i).to_string())
        };
        let message = session_message(finding, &view.outcome.cards, view.rig);
        let message = format!("{}{message}", mark(view.known_of_session(at)));
        line(
            out,
            &[
                "session-finding",
                word(finding.severity),
                finding.check.id,
                finding.metric.id,
                view.joint(finding.joint),
                &finding.value.to_string(),
                &finding.limit.to_string(),
                view.unit(finding.metric, finding.joint),
                &finding.episodes.to_string(),
                &finding.of.to_string(),
                &message,
                &interval(|i| i.low),
                &interval(|i| i.high),
                &interval(|i| i.confidence),
            ],
        )?;
    }
    for read in &session.readings {
        let reading = &read.reading;
        line(
            out,
            &[
                "session-reading",
                reading.check.id,
                reading.metric.id,
                view.joint(reading.joint),
                &reading.value.to_string(),
                view.unit(reading.metric, reading.joint),
                &read.episodes.to_string(),
                &read.of.to_string(),
                reading.note.as_deref().unwrap_or_default(),
            ],
        )?;
    }
    for hole in &session.not_assessed {
        let episodes = hole.episodes.to_string();
        let joint = view.joint(hole.joint);
        line(out, &["session-not-assessed", hole.check.id, joint, &episodes, &hole.reason])?;
    }
    for left in &session.left_out {
        let episodes = session.episodes.to_string();
        line(out, &["session-not-assessed", left.check.id, "", &episodes, left.reason])?;
    }
    if session.suppressed > 0 {
        line(out, &["session-suppressed", &session.suppressed.to_string()])?;
    }
    for notice in &view.rig.notices {
        line(out, &["rig", notice])?;
    }
    for card in &view.outcome.cards {
        episode(view, card, out)?;
    }
    for unread in &view.outcome.unread {
        let what = if unread.differs() { "different-columns" } else { "unread" };
        line(out, &[what, &path_text(&unread.path), &unread.reason])?;
    }
    for (ending, files) in view.outcome.skipped.by_number() {
        line(out, &["skipped", ending, &files.to_string()])?;
    }
    for file in &view.outcome.skipped.own {
        line(out, &["skipped-own", &path_text(&file.0)])?;
    }
    if let Some(known) = &view.outcome.known {
        let (known, new, verdict) = (known.before, known.new, known.verdict);
        line(out, &["baseline", verdict.word(), &known.to_string(), &new.to_string()])?;
    }
    line(
        out,
        &[
            "session",
            session.verdict.word(),
            &session.episodes.to_string(),
            &session.frames.to_string(),
            &session.duration_s.to_string(),
            &session.usable_s.to_string(),
        ],
    )
}

fn episode(view: &View<'_>, card: &Scorecard, out: &mut dyn Write) -> io::Result<()> {
    let id = card.key.id.as_str();
    let (frames, duration) = (card.frames.to_string(), card.duration_s.to_string());
    line(out, &["episode", id, card.verdict.word(), &frames, &duration])?;
    for finding in &card.findings {
        let spans: Vec<String> = finding
            .spans
            .as_slice()
            .iter()
            .map(|span| format!("[{},{})", span.start, span.end))
            .collect();
        line(
            out,
            &[
                "finding",
                id,
                word(finding.severity),
                finding.check.id,
                finding.metric.id,
                view.joint(finding.joint),
                &finding.value.to_string(),
                &finding.limit.to_string(),
                view.unit(finding.metric, finding.joint),
                &spans.join(","),
                &format!(
                    "{}{}",
                    mark(view.known(card, finding)),
                    finding_message(finding, view.rig)
                ),
            ],
        )?;
    }
    for one in &card.suppressed {
        let by = [one.why.word(), one.by.id, view.joint(one.by_joint)];
        let fields = [&["suppressed", id, one.check.id, view.joint(one.joint)], &by[..]].concat();
        line(out, &fields)?;
    }
    for hole in &card.not_assessed {
        line(out, &["not-assessed", id, hole.check.id, view.joint(hole.joint), &hole.reason])?;
    }
    Ok(())
}

/// What the message of a finding begins with.
fn mark(known: Option<bool>) -> &'static str {
    if known == Some(true) { "known: " } else { "" }
}

const fn word(severity: Severity) -> &'static str {
    match severity {
        Severity::Warn => "warn",
        Severity::Fail => "fail",
    }
}

/// A field holds no tab, no line break, and is never empty.
pub(super) fn line(out: &mut dyn Write, fields: &[&str]) -> io::Result<()> {
    for (at, field) in fields.iter().enumerate() {
        let tab = if at == 0 { "" } else { "\t" };
        let field = if field.is_empty() { "-".to_owned() } else { super::text::clean(field) };
        write!(out, "{tab}{field}")?;
    }
    writeln!(out)
}
