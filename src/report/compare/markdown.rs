//! A comparison for a job page.

use std::io::{self, Write};

use super::compared::Compared;
use super::sentence::sentence;
use super::terminal::{OF_INTERVALS, overall};
use super::words::{Shown, answer, message, place, step};
use crate::compare::{Answer, Group, Row};
use crate::model::count;
use crate::report::cautions;
use crate::report::files::trouble;
use crate::report::markdown::cell;

/// Lines of one list.
const MOST: usize = 200;

/// Writes the summary.
///
/// # Errors
/// If the output cannot be written.
pub fn comparison_markdown(view: &Compared<'_>, out: &mut dyn Write) -> io::Result<()> {
    let verdict = sentence(view);
    writeln!(out, "## {}: {}\n", verdict.status.word(), cell(&verdict.text))?;
    let (a, b) = (view.a.side, view.b.side);
    writeln!(
        out,
        "A: {} ({}). B: {} ({}).\n",
        cell(&a.name),
        count(a.ledger.rows(), "episode"),
        cell(&b.name),
        count(b.ledger.rows(), "episode")
    )?;
    let steps = &view.comparison.advice.steps;
    for one in steps.iter().take(MOST) {
        writeln!(out, "- {}", cell(&step(view, one)))?;
    }
    if !steps.is_empty() {
        writeln!(out)?;
    }
    writeln!(out, "| about | what | A | B | change | 95 % interval | answer |")?;
    writeln!(out, "|---|---|--:|--:|--:|--:|---|")?;
    let mut rows: Vec<&Row> = view.comparison.rows.iter().filter(|r| r.change.is_some()).collect();
    rows.sort_by_key(|row| (row.aspect.group(), std::cmp::Reverse(row.severity())));
    for row in rows.iter().take(MOST) {
        let shown = Shown::of(view, row);
        let (a, b) = row.values.map_or_else(
            || ("-".to_owned(), "-".to_owned()),
            |(a, b)| (shown.quantity(a), shown.quantity(b)),
        );
        let interval = row.interval.map_or_else(String::new, |(low, high)| {
            format!("{} to {}", shown.change(low), shown.with_unit(high))
        });
        let about = match row.aspect.group() {
            Group::Rig => "rig",
            Group::Behaviour => "what was done",
            Group::Statistics => "statistics",
        };
        writeln!(
            out,
            "| {about} | {} | {a} | {b} | {} | {interval} | {} |",
            cell(&place(view, row.aspect, row.joint)),
            row.change.map_or_else(String::new, |change| shown.with_unit(change)),
            answer(row.answer)
        )?;
    }
    writeln!(out)?;
    let open = |row: &&Row| row.answer == Answer::Inconclusive;
    for row in view.comparison.rows.iter().filter(open).take(MOST) {
        writeln!(out, "- not enough data: {}", cell(&message(view, row)))?;
    }
    for line in overall(view) {
        writeln!(out, "- {}", cell(&line))?;
    }
    for file in view.a.unread.iter().chain(view.b.unread).take(MOST) {
        let path = file.path.display().to_string();
        writeln!(out, "- {}: {}: {}", trouble(file), cell(&path), cell(&file.reason))?;
    }
    writeln!(out, "\n{OF_INTERVALS}\n\n{}", cautions::FULL)
}
