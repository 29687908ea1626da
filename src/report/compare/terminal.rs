//! A comparison on a terminal: the answer, the rig, behaviour, what is inconclusive.

use std::io::{self, Write};

use anstyle::{AnsiColor, Color, Style};

use super::compared::{Compared, ComparedSide};
use super::sentence::sentence;
use super::words::{Shown, answer, place, step};
use crate::compare::{Answer, Aspect, Group, Row, Verdict};
use crate::model::Severity;
use crate::report::cautions;
use crate::report::files::by_trouble;
use crate::report::number::significant;
use crate::report::text::{count, row, wrap};

/// Rows, tasks and files shown before a list is cut.
const MOST: usize = 12;

/// What a reader of intervals must know (common practice, no source).
pub(super) const OF_INTERVALS: &str = "\
A change is B minus A, also of percentages; with x it is B over A; sd is the standard deviation of \
that dimension in A. Intervals are of 95 %, over episodes, in the unit of their change. They take episodes for independent: a rig that drifts within \
a session, or two days that differ by more than what is compared, make them too narrow.";

/// Writes the comparison.
///
/// # Errors
/// If the output cannot be written.
pub fn comparison(view: &Compared<'_>, out: &mut dyn Write) -> io::Result<()> {
    let view = &Compared { width: view.width.clamp(80, 120), ..*view };
    let verdict = sentence(view);
    put(out, &verdict.lines(view.width))?;
    side(view, "A", &view.a, out)?;
    side(view, "B", &view.b, out)?;
    if let Some(cost) = view.comparison.advice.cost.filter(|_| !view.comparison.identical()) {
        let text = format!(
            "cost of merging them as they are: {} of the action's own standard deviation",
            significant(cost)
        );
        put(out, &wrap(&text, "        ", 8, view.width))?;
    }
    steps(view, out)?;
    table(view, "on the rig", Group::Rig, out)?;
    table(view, "what was done", Group::Behaviour, out)?;
    table(view, "for normalising", Group::Statistics, out)?;
    details(view, out)?;
    open(view, out)?;
    notes(view, out)?;
    unread(view, out)?;
    writeln!(out)?;
    put(out, &wrap(OF_INTERVALS, "  ", 2, view.width))?;
    put(out, &wrap(cautions::FULL, "  ", 2, view.width))?;
    writeln!(out)?;
    put(out, &verdict.lines(view.width))?;
    writeln!(out, "  next: {}", next(view))
}

pub(super) fn put(out: &mut dyn Write, lines: &[String]) -> io::Result<()> {
    lines.iter().try_for_each(|line| writeln!(out, "{}", line.trim_end()))
}

fn side(
    view: &Compared<'_>,
    letter: &str,
    of: &ComparedSide<'_>,
    out: &mut dyn Write,
) -> io::Result<()> {
    let ledger = &of.side.ledger;
    let minutes = ledger.duration_s().iter().sum::<f64>() / 60.0;
    let text = format!(
        "{letter}: {}, {}, {} minutes",
        of.side.name,
        count(ledger.rows() as u64, "episode"),
        significant(minutes)
    );
    put(out, &wrap(&text, "        ", 11, view.width))
}

fn steps(view: &Compared<'_>, out: &mut dyn Write) -> io::Result<()> {
    let steps = &view.comparison.advice.steps;
    if steps.is_empty() {
        return Ok(());
    }
    let correct = view.comparison.advice.verdict == Verdict::Correct;
    writeln!(out, "\n  {}", if correct { "to merge them" } else { "why not" })?;
    for one in steps.iter().take(MOST) {
        put(out, &wrap(&step(view, one), "  - ", 4, view.width))?;
    }
    if steps.len() > MOST {
        writeln!(out, "  and {} more: {} --format json", steps.len() - MOST, view.command)?;
    }
    Ok(())
}

/// One line of a table.
struct Line {
    what: String,
    a: String,
    b: String,
    /// Unit of both values; none where one line stands for several joints.
    unit: &'static str,
    change: String,
    change_unit: &'static str,
    interval: String,
    answer: Answer,
}

fn table(view: &Compared<'_>, title: &str, group: Group, out: &mut dyn Write) -> io::Result<()> {
    let rows = || view.comparison.rows.iter().filter(move |row| row.aspect.group() == group);
    let mut lines: Vec<Line> = Vec::new();
    // Of what follows from the rest, only what is known to differ is worth a line each.
    let apart = |row: &Row| group != Group::Statistics || row.severity().is_some();
    let shown = |row: &&Row| row.change.is_some() && row.answer != Answer::Same && apart(row);
    let mut single: Vec<&Row> = rows().filter(shown).collect();
    // Worst first; what is undecided behind what is known to differ.
    single.sort_by_key(|row| std::cmp::Reverse(row.severity()));
    lines.extend(single.iter().take(MOST).map(|row| line(view, row)));
    let more = single.len().saturating_sub(MOST);
    let undecided = |row: &&Row| row.answer == Answer::Inconclusive && !apart(row);
    for aspect in Aspect::ALL {
        let of = |row: &&Row| row.aspect == aspect;
        let open: Vec<&Row> = rows().filter(of).filter(undecided).collect();
        lines.extend(together(view, aspect, &open));
    }
    for aspect in Aspect::ALL {
        let of = |row: &&Row| row.aspect == aspect && row.answer == Answer::Same;
        let same: Vec<&Row> = rows().filter(of).collect();
        lines.extend(together(view, aspect, &same));
    }
    if lines.is_empty() {
        return Ok(());
    }
    let room = view.width - 63;
    let head = format!(
        "{:>6} {:>6} {:<5}{:>6} {:<3} {:>15} answer",
        "A", "B", "unit", "change", "", "95 % interval"
    );
    writeln!(out)?;
    put(out, &row(&[(title, room)], &head))?;
    for line in lines {
        let numbers = format!(
            "{:>6} {:>6} {:<5}{:>6} {:<3} {:>15} {}",
            line.a,
            line.b,
            line.unit,
            line.change,
            line.change_unit,
            line.interval,
            painted(line.answer)
        );
        put(out, &row(&[(&line.what, room)], &numbers))?;
    }
    if more > 0 {
        writeln!(out, "  and {more} more: {} --format json", view.command)?;
    }
    Ok(())
}

fn line(view: &Compared<'_>, row: &Row) -> Line {
    let shown = Shown::of(view, row);
    let value = |side: fn((f64, f64)) -> f64| {
        row.values.map_or_else(|| "-".to_owned(), |values| shown.value(side(values)))
    };
    let (low, high) = row.interval.unwrap_or((f64::NAN, f64::NAN));
    Line {
        what: place(view, row.aspect, row.joint),
        a: value(|v| v.0),
        b: value(|v| v.1),
        unit: if row.values.is_some() { shown.unit } else { "" },
        change: row.change.map_or_else(|| "-".to_owned(), |change| shown.change(change)),
        change_unit: shown.change_unit,
        interval: format!("{} to {}", shown.change(low), shown.change(high)),
        answer: row.answer,
    }
}

/// Rows of one aspect and one answer: the largest change, and what all intervals lie in.
fn together(view: &Compared<'_>, aspect: Aspect, same: &[&Row]) -> Option<Line> {
    let first = same.first()?;
    let titled = |what: String| Line {
        what,
        a: String::new(),
        b: String::new(),
        unit: "",
        change: String::new(),
        change_unit: "",
        interval: String::new(),
        answer: first.answer,
    };
    let measured: Vec<&&Row> = same.iter().filter(|row| row.interval.is_some()).collect();
    if same.len() == 1 && !measured.is_empty() {
        return Some(line(view, first));
    }
    if measured.is_empty() {
        return Some(titled(aspect.title().to_owned()));
    }
    let shown = Shown::of(view, measured[0]);
    let size = |row: &Row| row.change.map_or(0.0, f64::abs);
    let most = measured.iter().max_by(|x, y| size(x).total_cmp(&size(y)))?;
    let ends = measured.iter().filter_map(|row| row.interval);
    let hull = ends.reduce(|x, y| (x.0.min(y.0), x.1.max(y.1)))?;
    Some(Line {
        change: most.change.map_or_else(String::new, |change| shown.change(change)),
        change_unit: shown.change_unit,
        interval: format!("{} to {}", shown.change(hull.0), shown.change(hull.1)),
        ..titled(format!("{}, {} joints", aspect.title(), same.len()))
    })
}

pub(super) fn painted(of: Answer) -> String {
    let style = match of {
        Answer::Different(Severity::Warn) => {
            Style::new().fg_color(Some(Color::Ansi(AnsiColor::Yellow)))
        }
        Answer::Different(Severity::Fail) => {
            Style::new().fg_color(Some(Color::Ansi(AnsiColor::Red))).bold()
        }
        Answer::Same | Answer::Inconclusive => return answer(of).to_owned(),
    };
    format!("{style}{}{style:#}", answer(of))
}

/// What a reader should know of single differences.
fn details(view: &Compared<'_>, out: &mut dyn Write) -> io::Result<()> {
    let noted = |row: &&Row| row.severity().is_some() && !row.notes.is_empty();
    let rows: Vec<&Row> = view.comparison.rows.iter().filter(noted).collect();
    if rows.is_empty() {
        return Ok(());
    }
    writeln!(out, "\n  of what differs:")?;
    for row in rows.iter().take(MOST) {
        let text = format!("{}: {}", place(view, row.aspect, row.joint), row.notes.join("; "));
        put(out, &wrap(&text, "  - ", 4, view.width))?;
    }
    if rows.len() > MOST {
        writeln!(out, "  and {} more: {} --format json", rows.len() - MOST, view.command)?;
    }
    Ok(())
}

/// What is inconclusive, and how many episodes would decide it.
fn open(view: &Compared<'_>, out: &mut dyn Write) -> io::Result<()> {
    let undecided = |row: &&Row| row.answer == Answer::Inconclusive;
    let rows: Vec<&Row> = view.comparison.rows.iter().filter(undecided).collect();
    if rows.is_empty() {
        return Ok(());
    }
    writeln!(out, "\n  not enough data:")?;
    let mut groups: Vec<(Aspect, String, Vec<&str>)> = Vec::new();
    let most =
        |aspect: Aspect| rows.iter().filter(|r| r.aspect == aspect).filter_map(|r| r.needs).max();
    for row in &rows {
        // Of what follows from the rest one number is enough.
        let why = match most(row.aspect).filter(|_| row.aspect.group() == Group::Statistics) {
            Some(needs) => format!("needs up to {needs} episodes to a side"),
            None => reason(row),
        };
        let joint = view.joint(row.joint);
        match groups.iter_mut().find(|g| g.0 == row.aspect && g.1 == why) {
            Some(group) => group.2.push(joint),
            None => groups.push((row.aspect, why, vec![joint])),
        }
    }
    for (aspect, why, joints) in groups.iter().take(MOST) {
        let joints = joints.join(", ");
        let joints = if joints.is_empty() { String::new() } else { format!(" ({joints})") };
        let text = format!("{}{joints}: {why}", aspect.title());
        put(out, &wrap(&text, "  ? ", 4, view.width))?;
    }
    if groups.len() > MOST {
        writeln!(out, "  and {} more: {} --format json", groups.len() - MOST, view.command)?;
    }
    Ok(())
}

pub(super) fn reason(row: &Row) -> String {
    let mut parts = row.notes.clone();
    if let Some(needs) = row.needs.filter(|_| row.change.is_some()) {
        parts.push(format!("needs about {needs} episodes to a side"));
    } else if parts.is_empty() {
        parts.push("no number of episodes that is worth recording would settle it".to_owned());
    }
    parts.join("; ")
}

/// What concerns the comparison as a whole.
fn notes(view: &Compared<'_>, out: &mut dyn Write) -> io::Result<()> {
    let lines = overall(view);
    if lines.is_empty() {
        return Ok(());
    }
    writeln!(out, "\n  of both sides:")?;
    lines.iter().try_for_each(|text| put(out, &wrap(text, "  - ", 4, view.width)))
}

/// The same as sentences.
pub(super) fn overall(view: &Compared<'_>) -> Vec<String> {
    let comparison = view.comparison;
    let mut lines = Vec::new();
    if comparison.shared > 0 {
        lines.push(format!(
            "{} in both by content: they are no evidence of two sessions",
            count(comparison.shared as u64, "recording")
        ));
    }
    let tasks = &comparison.tasks;
    for (letter, only) in [("A", &tasks.only_a), ("B", &tasks.only_b)] {
        if !only.is_empty() {
            let names: Vec<&str> = only.iter().take(MOST).map(AsRef::as_ref).collect();
            lines.push(format!(
                "tasks of {letter} alone, left out of what was done: {}",
                names.join(", ")
            ));
        }
    }
    if tasks.common.is_empty() {
        lines.push("no task in common: what was done is not compared".to_owned());
    }
    for (letter, of) in [("A", &view.a), ("B", &view.b)] {
        lines.extend(of.side.rig.notices.iter().map(|notice| format!("rig of {letter}: {notice}")));
    }
    lines
}

fn unread(view: &Compared<'_>, out: &mut dyn Write) -> io::Result<()> {
    let all = [view.a.unread, view.b.unread].concat();
    for (trouble, files) in by_trouble(&all) {
        writeln!(out, "\n  {trouble}, so not compared:")?;
        for file in files.iter().take(MOST) {
            let text = format!("{}: {}", file.path.display(), file.reason);
            put(out, &wrap(&text, "  ", 4, view.width))?;
        }
    }
    Ok(())
}

/// A command that shows more: of the check behind the leading difference, else the whole.
pub(super) fn next(view: &Compared<'_>) -> String {
    let leading = view.comparison.advice.steps.iter().find_map(|step| step.aspect.source());
    match leading {
        Some(what) => format!("teleassay explain {}", what.check.id),
        None => format!("{} --out-html comparison.html", view.command),
    }
}
