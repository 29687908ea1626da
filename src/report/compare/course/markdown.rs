//! A course for a job page.

use std::io::{self, Write};

use super::super::terminal::OF_INTERVALS;
use super::super::words::answer;
use super::pairs::{notes, said};
use super::verdict::verdict;
use super::view::Courses;
use super::words::{MARKS, OF_PAIRS, about, mark, state, title, unit, values};
use crate::compare::CourseLine;
use crate::report::cautions;
use crate::report::markdown::cell;
use crate::report::text::count;

/// Lines of one list.
const MOST: usize = 200;

/// Writes the summary.
///
/// # Errors
/// If the output cannot be written.
pub fn course_markdown(view: &Courses<'_>, out: &mut dyn Write) -> io::Result<()> {
    let verdict = verdict(view);
    writeln!(out, "## {} {}\n", answer(verdict.answer), cell(&verdict.text))?;
    let names = view.names();
    for (side, number) in view.sides().zip(1..) {
        let episodes = count(side.side.ledger.rows(), "episode");
        writeln!(out, "{number}. {} ({episodes})", cell(&side.side.name))?;
    }
    let heads: Vec<String> = names.iter().map(|name| cell(name)).collect();
    writeln!(out, "\n| about | what | unit | {} | course |", heads.join(" | "))?;
    writeln!(out, "|---|---|---|{}---|", "--:|".repeat(heads.len()))?;
    for line in view.lines.iter().take(MOST) {
        let cells: Vec<String> = values(line)
            .into_iter()
            .zip(&line.points)
            .enumerate()
            .map(|(at, (value, point))| match at {
                0 => value,
                _ => format!("{value} {}", mark(point.answer)),
            })
            .collect();
        writeln!(
            out,
            "| {} | {} | {} | {} | {} |",
            about(line),
            cell(&title(line)),
            unit(line),
            cells.join(" | "),
            cell(&state(line, &names))
        )?;
    }
    left_out(view.lines, out)?;
    writeln!(out, "\n{MARKS}\n\nEach with 1: A is session 1, B the other.\n")?;
    for pair in said(view) {
        let name = names.get(pair.number - 1).map_or("", String::as_str);
        writeln!(out, "- {} {}: {}", pair.number, cell(name), cell(&pair.answer))?;
        for step in pair.steps.iter().take(MOST) {
            writeln!(out, "  - {}", cell(step))?;
        }
    }
    writeln!(out)?;
    for note in notes(view).iter().take(MOST) {
        writeln!(out, "- {}", cell(note))?;
    }
    for (side, number) in view.sides().zip(1..) {
        for file in side.unread.iter().take(MOST) {
            let path = file.path.display().to_string();
            writeln!(out, "- not read: {number}: {}: {}", cell(&path), cell(&file.reason))?;
        }
    }
    writeln!(out, "\n{OF_PAIRS} {OF_INTERVALS}\n\n{}", cautions::FULL)
}

fn left_out(lines: &[CourseLine], out: &mut dyn Write) -> io::Result<()> {
    match lines.len().saturating_sub(MOST) {
        0 => Ok(()),
        more => writeln!(out, "\nand {more} more, in the JSON document"),
    }
}
