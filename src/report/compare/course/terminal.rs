//! A course on a terminal: the answer, the sessions, the table, what to do about each.

use std::io::{self, Write};

use super::super::terminal::{OF_INTERVALS, painted, put};
use super::super::words::answer;
use super::pairs::{notes, said};
use super::table::table;
use super::verdict::{Answered, verdict};
use super::view::Courses;
use super::words::{MARKS, OF_PAIRS};
use crate::compare::CourseLine;
use crate::report::cautions;
use crate::report::files::by_trouble;
use crate::report::number::significant;
use crate::report::text::{count, wrap};

/// Notes and files shown before a list is cut.
const MOST: usize = 12;
/// Steps shown of each pair.
const STEPS: usize = 3;

/// Writes the course.
///
/// # Errors
/// If the output cannot be written.
pub fn course(view: &Courses<'_>, out: &mut dyn Write) -> io::Result<()> {
    let width = view.width.clamp(80, 120);
    let verdict = verdict(view);
    put(out, &lines(&verdict, width))?;
    for (side, number) in view.sides().zip(1..) {
        let ledger = &side.side.ledger;
        let minutes = ledger.duration_s().iter().sum::<f64>() / 60.0;
        let text = format!(
            "{number}: {}, {}, {} minutes",
            side.side.name,
            count(ledger.rows() as u64, "episode"),
            significant(minutes)
        );
        put(out, &wrap(&text, "        ", 11, width))?;
    }
    writeln!(out)?;
    put(out, &table(view, width))?;
    put(out, &wrap(MARKS, "  ", 2, width))?;
    pairs(view, width, out)?;
    let notes = notes(view);
    cut(view, "to know, by session:", &notes, width, out)?;
    unread(view, width, out)?;
    writeln!(out)?;
    for text in [OF_PAIRS, OF_INTERVALS, cautions::FULL] {
        put(out, &wrap(text, "  ", 2, width))?;
    }
    writeln!(out)?;
    put(out, &lines(&verdict, width))?;
    writeln!(out, "  next: {}", next(view))
}

/// The verdict in lines, the answer in front.
fn lines(verdict: &Answered, width: usize) -> Vec<String> {
    let word = answer(verdict.answer);
    let first = format!("{word}  ");
    let mut lines = wrap(&verdict.text, &first, first.len(), width);
    lines[0] = lines[0].replacen(word, &painted(verdict.answer), 1);
    lines
}

fn pairs(view: &Courses<'_>, width: usize, out: &mut dyn Write) -> io::Result<()> {
    writeln!(out, "\n  each with 1: A is session 1, B the other")?;
    let names = view.names();
    for pair in said(view) {
        let name = names.get(pair.number - 1).map_or("", String::as_str);
        let text = format!("{} {name}: {}", pair.number, pair.answer);
        put(out, &wrap(&text, "  ", 4, width))?;
        for step in pair.steps.iter().take(STEPS) {
            put(out, &wrap(step, "    - ", 6, width))?;
        }
        if pair.steps.len() > STEPS {
            writeln!(out, "  and {} more: {}", pair.steps.len() - STEPS, pair.command)?;
        }
    }
    Ok(())
}

/// Files that were not compared, with the number of their session, by what is wrong with them.
fn unread(view: &Courses<'_>, width: usize, out: &mut dyn Write) -> io::Result<()> {
    let mut by: Vec<(&'static str, Vec<String>)> = Vec::new();
    for (of, number) in view.sides().zip(1..) {
        for (trouble, files) in by_trouble(of.unread) {
            let lines = files
                .iter()
                .map(|file| format!("{number}: {}: {}", file.path.display(), file.reason));
            match by.iter_mut().find(|(known, _)| *known == trouble) {
                Some((_, all)) => all.extend(lines),
                None => by.push((trouble, lines.collect())),
            }
        }
    }
    let title = |trouble: &str| format!("{trouble}, so not compared:");
    by.iter().try_for_each(|(trouble, lines)| cut(view, &title(trouble), lines, width, out))
}

/// A list under its title; nothing without lines.
fn cut(
    view: &Courses<'_>,
    title: &str,
    lines: &[String],
    width: usize,
    out: &mut dyn Write,
) -> io::Result<()> {
    if lines.is_empty() {
        return Ok(());
    }
    writeln!(out, "\n  {title}")?;
    for line in lines.iter().take(MOST) {
        put(out, &wrap(line, "  - ", 4, width))?;
    }
    if lines.len() > MOST {
        writeln!(out, "  and {} more: {} --format json", lines.len() - MOST, view.command)?;
    }
    Ok(())
}

/// A command that shows more: of the first session that differs, compared alone; else the page.
pub(super) fn next(view: &Courses<'_>) -> String {
    let since = view.lines.iter().find(|line| line.worst().is_some()).map(CourseLine::since);
    let at = since.and_then(|since| since.from.or(since.apart.first().copied()));
    match at.and_then(|at| view.pairs.get(at - 1)) {
        Some(pair) => pair.command.to_owned(),
        None => format!("{} --out-html course.html", view.command),
    }
}
