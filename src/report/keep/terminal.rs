//! What a copy kept, changed and left out, on a screen.

use std::io::{self, Write};

use super::shape::{ChangesDocument, LeftAloneShape};
use crate::report::number::significant;
use crate::report::text::{clean, count, put, wrap};

/// Reasons, changes and files that are shown; the rest is counted.
const MOST: usize = 12;
/// Episodes that are named with a reason.
const NAMED: usize = 8;

/// Prints it; `next` are commands to go on with.
///
/// # Errors
/// If the output cannot be written.
pub fn kept(
    document: &ChangesDocument,
    next: &[String],
    width: usize,
    out: &mut dyn Write,
) -> io::Result<()> {
    let mut lines = head(document, width);
    left_out(document, width, &mut lines);
    changes(document, width, &mut lines);
    left_alone(&document.left_alone, width, &mut lines);
    for file in document.unread.iter().take(MOST) {
        let text = format!("not read: {}: {}", clean(&file.path), clean(&file.reason));
        lines.extend(wrap(&text, "  ", 4, width));
    }
    lines.push(String::new());
    lines.extend(next.iter().map(|command| format!("next: {command}")));
    put(out, &lines)
}

fn head(document: &ChangesDocument, width: usize) -> Vec<String> {
    let verb = if document.dry_run { "would keep" } else { "kept" };
    let (episodes, frames) = (document.episodes, document.frames);
    let text = format!(
        "{verb} {} of {} ({} of {}) in {}: {}",
        episodes.kept,
        count(episodes.of, "episode"),
        frames.kept,
        count(frames.of, "frame"),
        count(document.files.len(), "file"),
        clean(&document.to),
    );
    wrap(&text, "", 2, width)
}

/// Episodes that are left out, by the reason.
fn left_out(document: &ChangesDocument, width: usize, lines: &mut Vec<String>) {
    let mut reasons: Vec<(String, Vec<&str>)> = Vec::new();
    for one in &document.left_out {
        let why = one.why.join("; ");
        match reasons.iter_mut().find(|(known, _)| *known == why) {
            Some((_, episodes)) => episodes.push(&one.episode),
            None => reasons.push((why, vec![&one.episode])),
        }
    }
    if reasons.is_empty() && document.rows_of_no_episode == 0 {
        return;
    }
    let verb = if document.dry_run { "would leave out" } else { "left out" };
    lines.push(String::new());
    lines.push(format!("{verb} {}:", count(document.left_out.len(), "episode")));
    reasons.sort_by_key(|(_, episodes)| std::cmp::Reverse(episodes.len()));
    for (why, episodes) in reasons.iter().take(MOST) {
        let text = format!("{}: {}", clean(why), named(episodes));
        lines.extend(wrap(&text, "  ", 4, width));
    }
    if reasons.len() > MOST {
        lines.push(format!("  and {} more reasons", reasons.len() - MOST));
    }
    if document.rows_of_no_episode > 0 {
        lines.push(format!("  {} of no episode", count(document.rows_of_no_episode, "row")));
    }
}

fn named(episodes: &[&str]) -> String {
    let shown: Vec<String> = episodes.iter().take(NAMED).map(|id| clean(id)).collect();
    let more = episodes.len() - shown.len();
    let more = if more > 0 { format!(" and {more} more") } else { String::new() };
    format!("{}{more}", shown.join(", "))
}

fn changes(document: &ChangesDocument, width: usize, lines: &mut Vec<String>) {
    if document.changes.is_empty() {
        return;
    }
    lines.push(String::new());
    lines.push(if document.dry_run { "would change:" } else { "changed:" }.to_owned());
    for change in &document.changes {
        if change.episodes.is_empty() {
            lines.push(format!("  {}: nothing to change", clean(&change.option)));
            continue;
        }
        let figures: Vec<String> = change
            .figures
            .iter()
            .map(|figure| {
                let joint =
                    figure.joint.as_deref().map_or(String::new(), |j| format!(" {}", clean(j)));
                let unit = match figure.unit.as_str() {
                    "ratio" | "count" | "stored" => String::new(),
                    unit => format!(" {unit}"),
                };
                format!("{}{joint} {}{unit}", figure.what, significant(figure.value))
            })
            .collect();
        let figures =
            if figures.is_empty() { String::new() } else { format!(" ({})", figures.join(", ")) };
        let text = format!(
            "{}: {} in {}{figures}",
            clean(&change.option),
            clean(&change.what),
            count(change.episodes.len(), "episode"),
        );
        lines.extend(wrap(&text, "  ", 4, width));
    }
}

/// Files next to the tables: how many, and which seem to belong to what is left out.
fn left_alone(files: &[LeftAloneShape], width: usize, lines: &mut Vec<String>) {
    if files.is_empty() {
        return;
    }
    let of_left_out: Vec<&str> =
        files.iter().filter(|file| file.left_out).map(|file| file.path.as_str()).collect();
    lines.push(String::new());
    let mut text = format!("not copied: {} next to the tables", count(files.len(), "file"));
    if !of_left_out.is_empty() {
        let seem = if of_left_out.len() == 1 { "seems" } else { "seem" };
        text = format!(
            "{text}; {} of them {seem} to belong to episodes that are left out: {}",
            of_left_out.len(),
            named(&of_left_out)
        );
    }
    lines.extend(wrap(&text, "", 2, width));
}
