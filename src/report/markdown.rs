//! A summary for a job page: the worst 50 episodes, below 1 MB.

use std::io::{self, Write};

use super::advice;
use super::breakdown::Breakdown;
use super::causes::told;
use super::cautions;
use super::files::trouble;
use super::leave_out;
use super::normalisation;
use super::number::{Human, significant};
use super::sentence;
use super::status::Status;
use super::table::{MetricSummary, ScoreTable};
use super::text::{clean, count, shorten};
use super::view::View;
use super::words::{finding_message, metric_name};
use crate::model::{CardPlace, Finding, Scorecard};

/// Episodes shown.
const MOST_EPISODES: usize = 50;
/// Lines shown of every other list.
const MOST: usize = 100;
/// Causes shown, and episodes named with each.
const MOST_CAUSES: usize = 40;
const MOST_IDS: usize = 10;
/// Characters of one cell: with the caps above, a page stays far below 1 MB.
const CELL: usize = 400;

/// Bytes of a page: job pages refuse more than 1 MiB.
const LARGEST: usize = 1_000_000;

/// Writes the summary of a session.
///
/// # Errors
/// If the output cannot be written.
pub fn markdown(view: &View<'_>, out: &mut dyn Write) -> io::Result<()> {
    let mut page = Vec::new();
    whole(view, &mut page)?;
    let end = format!("\nThe page is cut here: {} --plain prints all.\n", cell(view.command));
    if page.len() <= LARGEST {
        return out.write_all(&page);
    }
    // Names from the data may be of any length and escapes lengthen them.
    page.truncate(LARGEST - end.len());
    let lines = page.iter().rposition(|byte| *byte == b'\n').map_or(0, |at| at + 1);
    out.write_all(&page[..lines])?;
    out.write_all(end.as_bytes())
}

fn whole(view: &View<'_>, out: &mut dyn Write) -> io::Result<()> {
    let verdict = sentence::session(view);
    let session = &view.outcome.session;
    writeln!(out, "## {}: {}\n", verdict.status.word(), cell(&verdict.whole()))?;
    writeln!(out, "{}.\n", cell(&leave_out::totals(view)))?;
    for text in leave_out::all(view) {
        writeln!(out, "- {}", cell(&text))?;
    }
    if let Some(command) = advice::command(view) {
        // Within a code span only a backtick has a meaning.
        let code = if command.contains('`') { cell(&command) } else { format!("`{command}`") };
        writeln!(out, "- clean copy: {code}")?;
    }
    writeln!(out)?;
    if session.suppressed > 0 {
        writeln!(out, "{} not shown.\n", count(session.suppressed, "suppressed finding"))?;
    }
    for text in view.accepted() {
        writeln!(out, "{}\n", cell(&text))?;
    }
    if let Some(text) = view.against_baseline() {
        writeln!(out, "Compared with the baseline: {text}.\n")?;
    }
    plan(view, out)?;
    let table = ScoreTable::new(view).map_err(io::Error::other)?;
    let summaries = table.summaries().map_err(io::Error::other)?;
    measured(view, &summaries, out)?;
    breakdown(view, out)?;
    summary(view, out)?;
    episodes(view, &view.flagged().collect::<Vec<_>>(), out)?;
    missing(view, out)?;
    writeln!(out, "{}", cautions::FULL)
}

/// Text in a table's cell: no pipe, no line break, no markup.
pub(super) fn cell(text: &str) -> String {
    let mut out = String::new();
    for c in shorten(&clean(text), CELL).chars() {
        match c {
            '<' => out.push_str("&lt;"),
            '&' => out.push_str("&amp;"),
            '|' | '`' | '*' | '_' | '[' | ']' | '\\' => {
                out.push('\\');
                out.push(c);
            }
            c => out.push(c),
        }
    }
    out
}

/// What to fix, most minutes lost first.
fn plan(view: &View<'_>, out: &mut dyn Write) -> io::Result<()> {
    let causes = &view.digest.causes;
    if causes.is_empty() {
        return Ok(());
    }
    writeln!(out, "### What to fix, most minutes lost first\n")?;
    for told in causes.iter().take(MOST_CAUSES).map(|cause| told(view, cause, MOST_IDS)) {
        let part = |text: &str, head: &str| {
            if text.is_empty() { String::new() } else { format!("{head}{}", cell(text)) }
        };
        writeln!(
            out,
            "- **{}** {}{}{}  \n  Cause: {}. Fix: {}.{}{}",
            told.status.word(),
            cell(&told.what),
            part(&told.episodes, "; episodes "),
            part(&told.lost, "; lost: "),
            cell(told.cause),
            cell(told.fix),
            part(&told.data, " Recorded data: "),
            cell(&told.also)
        )?;
    }
    if causes.len() > MOST_CAUSES {
        writeln!(out, "\n{} more.", causes.len() - MOST_CAUSES)?;
    }
    writeln!(out)
}

/// Episodes by what they have in common, where there are several groups and not too many.
fn breakdown(view: &View<'_>, out: &mut dyn Write) -> io::Result<()> {
    let all = Breakdown::new(view).map_err(io::Error::other)?;
    for (key, groups) in all.all(MOST).map_err(io::Error::other)? {
        writeln!(
            out,
            "| {} | episodes | usable (min) | ok | warn | FAIL | median duration (s) | main cause |",
            cell(&key)
        )?;
        writeln!(out, "|---|--:|--:|--:|--:|--:|--:|---|")?;
        for group in &groups {
            writeln!(
                out,
                "| {} | {} | {} | {} | {} | {} | {} | {} |",
                cell(&group.name),
                group.episodes(),
                significant(group.usable_s / 60.0),
                group.pass,
                group.warn,
                group.fail,
                significant(group.duration_s),
                group.main_cause.unwrap_or("-")
            )?;
        }
        writeln!(out)?;
    }
    Ok(())
}

fn measured(view: &View<'_>, summaries: &[MetricSummary], out: &mut dyn Write) -> io::Result<()> {
    if summaries.is_empty() {
        return Ok(());
    }
    writeln!(out, "| measurement | joint | episodes | median | p95 | worst | limit | unit |")?;
    writeln!(out, "|---|---|--:|--:|--:|--:|--:|---|")?;
    for summary in summaries.iter().take(MOST) {
        let limit = view.limits.on(summary.check, summary.metric, summary.joint);
        let first = limit.warn.or(limit.fail);
        let linear = view.linear(summary.joint);
        let human = Human::of(summary.metric, linear, first.unwrap_or(summary.worst));
        writeln!(
            out,
            "| {} | {} | {} | {} | {} | {} | {} | {} |",
            cell(&metric_name(summary.metric)),
            cell(view.joint(summary.joint)),
            summary.episodes,
            human.number(summary.median),
            human.number(summary.p95),
            human.number(summary.worst),
            first.map_or_else(|| "-".to_owned(), |limit| human.number(limit)),
            human.unit
        )?;
    }
    writeln!(out)
}

fn summary(view: &View<'_>, out: &mut dyn Write) -> io::Result<()> {
    let misleading = normalisation::misleading(view);
    let lines: Vec<String> = view.unjudged().into_iter().chain(misleading).collect();
    if lines.is_empty() {
        return Ok(());
    }
    writeln!(out, "Session summary:\n")?;
    lines.iter().take(MOST).try_for_each(|line| writeln!(out, "- {}", cell(line)))?;
    writeln!(out)
}

fn message(view: &View<'_>, card: &Scorecard, finding: &Finding) -> String {
    let known = if view.known(card, finding) == Some(true) { "known: " } else { "" };
    cell(&format!("{known}{}", finding_message(finding, view.rig)))
}

fn episodes(view: &View<'_>, bad: &[CardPlace], out: &mut dyn Write) -> io::Result<()> {
    if bad.is_empty() {
        return Ok(());
    }
    writeln!(out, "| episode | status | findings |")?;
    writeln!(out, "|---|---|---|")?;
    for &place in bad.iter().take(MOST_EPISODES) {
        let card = view.card(place);
        let messages: Vec<String> =
            view.own(place).take(4).map(|f| message(view, card, f)).collect();
        let more = view.own(place).len() - messages.len();
        let more = if more == 0 { String::new() } else { format!(" And {more} more.") };
        writeln!(
            out,
            "| {} | {} | {}{more} |",
            cell(&card.key.id),
            Status::from(card.verdict).word(),
            messages.join(" ")
        )?;
    }
    if bad.len() > MOST_EPISODES {
        writeln!(out, "\n{} more episodes are not shown.", bad.len() - MOST_EPISODES)?;
    }
    writeln!(out)
}

fn missing(view: &View<'_>, out: &mut dyn Write) -> io::Result<()> {
    let session = &view.outcome.session;
    for hole in session.not_assessed.iter().take(MOST) {
        let joint = view.joint(hole.joint);
        let place = if joint.is_empty() { String::new() } else { format!(" ({})", cell(joint)) };
        writeln!(
            out,
            "- not assessed: {}{place}: {}, in {} of {}",
            hole.check.id,
            cell(&hole.reason),
            hole.episodes,
            count(session.episodes, "episode")
        )?;
    }
    let left_out = view.left_out();
    if let Some(text) = &left_out {
        writeln!(out, "- not assessed: {text}")?;
    }
    for notice in &view.rig.notices {
        writeln!(out, "- of the rig: {}", cell(notice))?;
    }
    for file in view.outcome.unread.iter().take(MOST) {
        writeln!(
            out,
            "- {}: {}: {}",
            trouble(file),
            cell(&file.path.display().to_string()),
            cell(&file.reason)
        )?;
    }
    let nothing = session.not_assessed.is_empty()
        && left_out.is_none()
        && view.rig.notices.is_empty()
        && view.outcome.unread.is_empty();
    if nothing { Ok(()) } else { writeln!(out) }
}
