//! The answer first: the verdict, what to fix, which episodes to leave out, and what was not looked
//! at, on one screen.

use std::io::{self, Write};

use super::advice;
use super::causes::{Told, told, why};
use super::cautions;
use super::files;
use super::full::next;
use super::leave_out;
use super::measurements;
use super::sentence::{self, Sentence};
use super::text::{clean, columns, count, put, wrap};
use super::understood::read_as;
use super::view::View;
use super::words::titles as titles_of;
use crate::model::{CardPlace, Severity, Unread};

/// Lines of a screen.
const LINES: usize = 40;
/// Lines of the brief form.
const BRIEF: usize = 10;
/// Episodes named with a cause, and in all.
const OF_A_CAUSE: usize = 4;
const OF_ALL: usize = 30;
/// Most lines for why a cause arose and what to do.
const WHY: usize = 4;
/// Files named that could not be read.
const FILES: usize = 3;
/// Checks named that could not be assessed.
const GAPS: usize = 3;
/// Rows of a table that is worth its heading.
const ROWS: usize = 3;
/// Most of them.
const MOST_ROWS: usize = 12;
/// A word and two spaces stand before every text.
const INDENT: &str = "        ";

/// Ten lines at most.
pub(super) fn brief(view: &View<'_>, out: &mut dyn Write) -> io::Result<()> {
    let verdict = sentence::session(view);
    let mut lines = verdict.lead(view.width);
    lines.truncate(2);
    let totals = leave_out::totals(view);
    let head = totals.split("; ").next().unwrap_or_default();
    lines.extend(wrap(head, INDENT, INDENT.len(), view.width));
    let end = excluded(view).map(|text| one_line(&text, "  ", view.width));
    let room = BRIEF.saturating_sub(lines.len() + usize::from(end.is_some()) + 1);
    let causes = &view.digest.causes;
    let shown = if causes.len() > room { room.saturating_sub(1) } else { causes.len() };
    for cause in &causes[..shown] {
        let told = told(view, cause, OF_A_CAUSE);
        let text = format!("{}: {}", told.what, told.episodes);
        let text = one_line(text.trim_end_matches(": "), &told.first(), view.width);
        lines.push(painted(&told, &text));
    }
    if causes.len() > shown {
        let titles = causes[shown..].iter().map(|cause| cause.check);
        let more = format!("and {}: {}", causes.len() - shown, titles_of(titles, 3));
        lines.push(one_line(&more, INDENT, view.width));
    }
    lines.extend(end);
    put(out, &lines)?;
    next(view, out)
}

/// Forty lines for a session of usual length.
pub(super) fn usual(view: &View<'_>, out: &mut dyn Write) -> io::Result<()> {
    let verdict = sentence::session(view);
    let mut lines = top(view, &verdict);
    let end = bottom(view, &verdict);
    // The command to paste is a line of its own, however long.
    // A measurements file is shown as its audit was, without the command that needs the data.
    let copy = usize::from(view.keep.is_none() && advice::worth_it(view));
    let room = LINES.saturating_sub(lines.len() + end.len() + copy + 1);
    let plan = plan(view, room);
    let room = room - plan.len().min(room);
    lines.extend(plan);
    lines.extend(measured(view, room));
    lines.extend(end);
    put(out, &lines)?;
    next(view, out)
}

/// The verdict, how much is usable, how the data was read.
fn top(view: &View<'_>, verdict: &Sentence) -> Vec<String> {
    let mut lines = verdict.lead(view.width);
    let known = view.against_baseline().map(|text| format!("baseline: {text}"));
    let skipped = files::skipped(&view.outcome.skipped);
    let skipped = skipped.map_or_else(String::new, |text| format!("; skipped: {text}"));
    let read_as = format!("read as: {}{skipped}", read_as(view));
    let first = [leave_out::totals(view)].into_iter().chain(unread(view));
    for text in
        first.chain(view.gate_missing()).chain(known).chain(view.accepted()).chain([read_as])
    {
        lines.extend(wrap(&text, INDENT, INDENT.len() + 2, view.width));
    }
    lines
}

/// Files that were not audited, with the reason.
fn unread(view: &View<'_>) -> Vec<String> {
    let all = &view.outcome.unread;
    let one = |file: &Unread| {
        format!("{}: {}: {}", files::trouble(file), file.path.display(), file.reason)
    };
    let mut lines: Vec<String> = all.iter().take(FILES).map(one).collect();
    if all.len() > FILES {
        lines.push(format!("and {} more files (--all)", all.len() - FILES));
    }
    lines
}

/// What to fix, most minutes lost first, as far as there is room.
fn plan(view: &View<'_>, room: usize) -> Vec<String> {
    let causes = &view.digest.causes;
    if causes.is_empty() || room < 4 {
        return Vec::new();
    }
    let all: Vec<Told> = causes.iter().map(|cause| told(view, cause, OF_A_CAUSE)).collect();
    let title = match causes.iter().filter(|cause| cause.severity == Severity::Fail).count() {
        0 => "what to look at:",
        1 => "what to fix:",
        _ => "what to fix, most minutes lost first:",
    };
    // Reasons get shorter from the end, and then fall away, where all causes would not fit else.
    let mut why = vec![WHY; all.len()];
    loop {
        let items: Vec<Vec<String>> =
            all.iter().zip(&why).map(|(told, lines)| item(told, *lines, view.width)).collect();
        let length = 2 + items.iter().map(Vec::len).sum::<usize>();
        let longest = why.iter().copied().max().unwrap_or(0);
        if length <= room || longest == 0 {
            let head = vec![String::new(), format!("  {title}")];
            return capped(view, head, items, room);
        }
        if let Some(last) = why.iter().rposition(|lines| *lines == longest) {
            why[last] -= 1;
        }
    }
}

/// The items that fit, and how many do not.
fn capped(
    view: &View<'_>,
    mut lines: Vec<String>,
    items: Vec<Vec<String>>,
    room: usize,
) -> Vec<String> {
    let number = items.len();
    for (at, item) in items.into_iter().enumerate() {
        let last = at + 1 == number;
        if lines.len() + item.len() + usize::from(!last) > room {
            lines.push(format!("  and {} more: {} --all", number - at, view.command));
            break;
        }
        lines.extend(item);
    }
    lines
}

fn item(told: &Told, reasons: usize, width: usize) -> Vec<String> {
    // What is lost is left to `--all` where it would take a line: the episodes never are.
    let heads = [head(told, true), head(told, false)];
    let wrapped = |text: &String| wrap(text, &told.first(), INDENT.len(), width);
    let fitting = heads.iter().map(wrapped).find(|lines| lines.len() == 1);
    let mut lines = fitting.unwrap_or_else(|| wrapped(&heads[1]));
    lines[0] = painted(told, &lines[0]);
    if reasons > 0 {
        lines.extend(why(told, |text| wrap(text, INDENT, INDENT.len(), width), reasons));
    }
    lines
}

impl Told {
    fn first(&self) -> String {
        format!("{:<6}  ", self.status.word())
    }
}

fn painted(told: &Told, line: &str) -> String {
    line.replacen(told.status.word(), &told.status.painted(), 1)
}

/// `limit dwell wrist_roll 24.6 % (limit 5.00 %): 13 (7.3-10.5 s); 3 min lost`
fn head(told: &Told, with_lost: bool) -> String {
    let mut text = told.what.clone();
    if !told.episodes.is_empty() {
        text = format!("{text}: {}", told.episodes);
    }
    if with_lost && !told.lost.is_empty() {
        text = format!("{text}; {}", told.lost);
    }
    text
}

/// Rows near a limit, where there is room: those beyond one stand in the plan.
fn measured(view: &View<'_>, room: usize) -> Vec<String> {
    let rows = measurements::near(view);
    let shown = rows.len().min(MOST_ROWS).min(room.saturating_sub(2));
    if shown < ROWS.min(rows.len()) || shown == 0 {
        return Vec::new();
    }
    let mut lines = vec![String::new()];
    lines.extend(measurements::lines(&rows[..shown], "worst", view.width));
    lines.truncate(room);
    lines
}

/// Which episodes to leave out, what was within limits or not assessed, the cautions, and the
/// verdict again.
fn bottom(view: &View<'_>, verdict: &Sentence) -> Vec<String> {
    let mut lines = vec![String::new()];
    let parts: Vec<String> = excluded(view).into_iter().chain(recoverable(view)).collect();
    for text in [parts.join("; "), checks(view), cautions::SHORT.to_owned()] {
        if !text.is_empty() {
            lines.extend(wrap(&text, "  ", 4, view.width));
        }
    }
    // A command to paste is a line of its own, however long.
    lines.extend(advice::command(view).map(|command| format!("  clean copy: {command}")));
    lines.extend(verdict.last(view.width));
    lines
}

/// `exclude: 2 6 10`
fn excluded(view: &View<'_>) -> Option<String> {
    let all = &view.digest.plan.exclude;
    let number = view.outcome.cards.len();
    if all.is_empty() {
        return None;
    }
    if all.len() == number && number == 1 {
        return Some("exclude: the only episode".to_owned());
    }
    if all.len() == number {
        return Some(format!("exclude: all of {}", count(number as u64, "episode")));
    }
    Some(format!("exclude: {}", ids(view, all, "--out-drop-list drop.txt")))
}

fn recoverable(view: &View<'_>) -> Option<String> {
    let all: Vec<CardPlace> = view.digest.plan.recover.iter().map(|one| one.place).collect();
    (!all.is_empty()).then(|| format!("recoverable: {}", ids(view, &all, "--all")))
}

/// Ids as they are typed; of many the first and the option that writes all.
fn ids(view: &View<'_>, places: &[CardPlace], option: &str) -> String {
    let named =
        places.iter().take(OF_ALL).map(|at| super::text::quote(&clean(&view.card(*at).key.id)));
    let named = named.collect::<Vec<_>>().join(" ");
    match places.len().saturating_sub(OF_ALL) {
        0 => named,
        more => format!("{named} and {more} more ({option})"),
    }
}

/// How many checks are within their limits, and which could not be assessed: the rows and reasons
/// are in `--all`.
fn checks(view: &View<'_>) -> String {
    let mut names: Vec<&str> = Vec::new();
    for gap in &view.outcome.session.not_assessed {
        let whole = gap.joint.is_none() && gap.episodes >= view.outcome.session.episodes;
        if whole && !view.measured(gap.check) && !names.contains(&gap.check.id) {
            names.push(gap.check.id);
        }
    }
    let mut parts = Vec::new();
    let within = measurements::within(view);
    if within > 0 {
        parts.push(format!("{} within limits", count(within as u64, "check")));
    }
    if !names.is_empty() {
        let more = names.len().saturating_sub(GAPS);
        let more = if more > 0 { format!(" and {more} more") } else { String::new() };
        let shown = names.iter().take(GAPS).copied().collect::<Vec<_>>().join(", ");
        parts.push(format!("not assessed: {shown}{more}"));
    }
    if parts.is_empty() { String::new() } else { format!("{} (--all)", parts.join("; ")) }
}

/// A text that takes one line, whatever is lost.
fn one_line(text: &str, first: &str, width: usize) -> String {
    let lines = wrap(text, first, first.len(), width);
    match lines.as_slice() {
        [] => first.to_owned(),
        [one] => one.clone(),
        [one, ..] if columns(one) + 4 <= width => format!("{one} ..."),
        [one, ..] => super::text::cut(&format!("{one} ..."), width),
    }
}
