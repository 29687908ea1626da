//! One episode's card on a terminal.

use std::io::{self, Write};

use super::cautions;
use super::measurements;
use super::number::{Human, significant};
use super::sentence;
use super::text::{count, row, wrap};
use super::view::View;
use super::words::{data_line, metric_name};
use crate::model::Scorecard;

/// Places shown before the list is cut.
const MOST_PLACES: usize = 16;

/// Writes an episode's card.
///
/// # Errors
/// If the output cannot be written.
pub fn card(view: &View<'_>, card: &Scorecard, out: &mut dyn Write) -> io::Result<()> {
    let view = &View { width: view.width.clamp(80, 120), ..*view };
    put(out, &wrap(&heading(view, card), "  ", 4, view.width))?;
    let rows = measurements::of_card(view, card);
    if !rows.is_empty() {
        writeln!(out)?;
        put(out, &measurements::lines(&rows, "value", view.width))?;
    }
    places(view, card, out)?;
    super::full::suppressed(card.suppressed.len() as u64, out)?;
    not_assessed(view, card, out)?;
    remedies(view, card, out)?;
    writeln!(out)?;
    put(out, &wrap(cautions::SHORT, "  ", 2, view.width))?;
    writeln!(out)?;
    put(out, &sentence::episode(card).lines(view.width))?;
    let placed = card.findings.iter().find(|finding| !finding.spans.as_slice().is_empty());
    if let Some(trace) = placed.and_then(|finding| view.trace(card, finding.joint)) {
        return writeln!(out, "  next: {trace}");
    }
    match card.findings.first() {
        Some(finding) => writeln!(out, "  next: teleassay explain {}", finding.check.id),
        None => writeln!(out, "  next: {}", view.command),
    }
}

fn put(out: &mut dyn Write, lines: &[String]) -> io::Result<()> {
    lines.iter().try_for_each(|line| writeln!(out, "{}", line.trim_end()))
}

fn heading(view: &View<'_>, card: &Scorecard) -> String {
    let rows = card.key.rows;
    let file = view.inputs.get(rows.input as usize).map_or_else(String::new, |input| {
        format!(", {} rows {}-{}", input.path.display(), rows.start, rows.end.saturating_sub(1))
    });
    let task = card.key.task.as_deref().map_or_else(String::new, |task| format!(", {task}"));
    format!(
        "episode {}{task}: {}, {} s{file}",
        card.key.id,
        count(card.frames as u64, "frame"),
        significant(card.duration_s)
    )
}

fn places(view: &View<'_>, card: &Scorecard, out: &mut dyn Write) -> io::Result<()> {
    let mut places: Vec<Vec<String>> = Vec::new();
    let room = 26 + view.width.clamp(80, 120) - 80;
    for (at, finding) in card.findings.iter().enumerate() {
        let human = Human::of(finding.metric, view.linear(finding.joint), finding.limit);
        let times = card.span_times_s.get(at);
        for (n, span) in finding.spans.as_slice().iter().enumerate() {
            let time = |end: usize| {
                let known = times.and_then(|t| t.get(n)).map(|t| t[end]);
                known.filter(|t| t.is_finite()).map_or("-".to_owned(), |t| format!("{t:.2}"))
            };
            let rest = format!(
                "{:>8} {:>8}   {:<11} {:>9}",
                time(0),
                time(1),
                format!("{}-{}", span.start, span.end.saturating_sub(1).max(span.start)),
                human.quantity(finding.value),
            );
            let names =
                [(&*metric_name(finding.metric), 18), (view.joint(finding.joint), room - 12)];
            places.push(row(&names, &rest));
        }
    }
    if places.is_empty() {
        return Ok(());
    }
    writeln!(out)?;
    let head = format!("{:>8} {:>8}   {:<11} {:>9}", "from s", "to s", "frames", "value");
    put(out, &row(&[("where", 18), ("joint", room - 12)], &head))?;
    let more = places.len().saturating_sub(MOST_PLACES);
    places.iter().take(MOST_PLACES).try_for_each(|lines| put(out, lines))?;
    if more > 0 {
        let id = super::text::quote(&card.key.id);
        writeln!(out, "  and {more} more: {} --episode {id} --plain", view.command)?;
    }
    Ok(())
}

fn not_assessed(view: &View<'_>, card: &Scorecard, out: &mut dyn Write) -> io::Result<()> {
    if card.not_assessed.is_empty() {
        return Ok(());
    }
    writeln!(out)?;
    for hole in &card.not_assessed {
        let joint = view.joint(hole.joint);
        let place = if joint.is_empty() { String::new() } else { format!(" ({joint})") };
        let text = format!("{}{place}: {}", hole.check.title(), hole.reason);
        put(out, &wrap(&text, "  not assessed: ", 16, view.width))?;
    }
    Ok(())
}

fn remedies(view: &View<'_>, card: &Scorecard, out: &mut dyn Write) -> io::Result<()> {
    let mut seen: Vec<&str> = Vec::new();
    for finding in &card.findings {
        if seen.contains(&finding.check.id) {
            continue;
        }
        if seen.is_empty() {
            writeln!(out, "\n  on the rig:")?;
        }
        seen.push(finding.check.id);
        let known = if view.known(card, finding) == Some(true) { " (known)" } else { "" };
        let text = format!("{}{known}: {}", finding.check.title(), finding.check.remedy);
        put(out, &wrap(&text, "  ", 4, view.width))?;
        if finding.metric.recovery.is_some() {
            let text = data_line(finding.metric, finding.severity);
            put(out, &wrap(&text, "    ", 4, view.width))?;
        }
        if !finding.note.is_empty() {
            put(out, &wrap(&format!("({})", finding.note), "    ", 4, view.width))?;
        }
    }
    Ok(())
}
