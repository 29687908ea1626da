//! The session on a terminal, every row of it: what `--all` prints.

use std::io::{self, Write};

use super::about::subject;
use super::advice;
use super::breakdown::keys as breakdown_keys;
use super::by;
use super::cautions;
use super::files;
use super::leave_out;
use super::measurements;
use super::normalisation;
use super::sentence;
use super::status::Status;
use super::text::{clean, columns, count, pad, put, wrap};
use super::understood::read_as;
use super::view::View;
use super::words::{data_line, finding_message, session_message};
use crate::model::{CardPlace, Verdict};

/// Episodes, tasks, reasons and files shown before a list is cut.
const MOST: usize = 10;

/// Writes the session's view.
///
/// # Errors
/// If the output cannot be written.
pub(super) fn full(view: &View<'_>, out: &mut dyn Write) -> io::Result<()> {
    let verdict = sentence::session(view);
    put(out, &verdict.lines(view.width))?;
    totals(view, out)?;
    put(out, &wrap(&format!("read as: {}", read_as(view)), "        ", 10, view.width))?;
    if let Some(text) = view.against_baseline() {
        put(out, &wrap(&format!("baseline: {text}"), "        ", 8, view.width))?;
    }
    for text in view.accepted() {
        put(out, &wrap(&text, "        ", 10, view.width))?;
    }
    causes(view, out)?;
    measured(view, out)?;
    tasks(view, out)?;
    summary(view, out)?;
    episodes(view, out)?;
    not_assessed(view, out)?;
    notices(view, out)?;
    unread(view, out)?;
    writeln!(out)?;
    put(out, &wrap(cautions::FULL, "  ", 2, view.width))?;
    writeln!(out)?;
    put(out, &verdict.lines(view.width))?;
    next(view, out)
}

fn totals(view: &View<'_>, out: &mut dyn Write) -> io::Result<()> {
    let more = leave_out::all(view);
    std::iter::once(leave_out::totals(view))
        .chain(more)
        .try_for_each(|text| put(out, &wrap(&text, "        ", 10, view.width)))?;
    match advice::command(view) {
        Some(command) => writeln!(out, "        clean copy: {command}"),
        None => Ok(()),
    }
}

fn causes(view: &View<'_>, out: &mut dyn Write) -> io::Result<()> {
    let findings = view.session_findings();
    if findings.is_empty() {
        return Ok(());
    }
    let of_rig = findings.iter().any(|finding| subject(finding.check) == "the rig");
    let place = if of_rig { "on the rig (concerns" } else { "in the data (concerns" };
    writeln!(out, "\n  {place} the whole session)")?;
    for (at, finding) in findings.iter().enumerate().take(MOST) {
        let status = Status::from(finding.severity);
        let word = status.word();
        let known = if view.known_of_session(at) == Some(true) { "known: " } else { "" };
        let text = format!("{known}{}", session_message(finding, &view.outcome.cards, view.rig));
        let mut lines = wrap(&text, &format!("  {word:<6}  "), 10, view.width);
        lines[0] = lines[0].replacen(word, &status.painted(), 1);
        put(out, &lines)?;
        put(out, &wrap(finding.check.cause, "          cause: ", 17, view.width))?;
        put(out, &wrap(finding.check.remedy, "          do:    ", 17, view.width))?;
        let data = data_line(finding.metric, finding.severity);
        if !data.is_empty() {
            put(out, &wrap(&data, "          data:  ", 17, view.width))?;
        }
    }
    if findings.len() > MOST {
        writeln!(out, "  and {} more: {} --plain", findings.len() - MOST, view.command)?;
    }
    Ok(())
}

fn measured(view: &View<'_>, out: &mut dyn Write) -> io::Result<()> {
    let rows = measurements::of_session(view);
    if rows.is_empty() {
        return Ok(());
    }
    let lines = measurements::lines(&rows, "worst", view.width);
    writeln!(out).and_then(|()| put(out, &lines))
}

/// Episodes by task, where there are several.
fn tasks(view: &View<'_>, out: &mut dyn Write) -> io::Result<()> {
    if view.nothing_assessed() || !breakdown_keys(view).iter().any(|key| key == "task") {
        return Ok(());
    }
    let lines = by::table(view, "task")?;
    writeln!(out).and_then(|()| put(out, &lines))
}

/// What nobody judges and somebody may want to know.
fn summary(view: &View<'_>, out: &mut dyn Write) -> io::Result<()> {
    let lines = view.unjudged();
    let misleading = normalisation::misleading(view);
    if lines.is_empty() && misleading.is_none() {
        return Ok(());
    }
    writeln!(out, "\n  session summary:")?;
    lines.iter().try_for_each(|text| put(out, &wrap(text, "  - ", 4, view.width)))?;
    misleading.iter().try_for_each(|text| {
        let text = format!("{text} (--normalisation shows all)");
        put(out, &wrap(&text, "  - ", 4, view.width))
    })
}

fn episodes(view: &View<'_>, out: &mut dyn Write) -> io::Result<()> {
    let own: Vec<CardPlace> = view.flagged().collect();
    let bad = view.outcome.cards.iter().filter(|card| card.verdict != Verdict::Pass).count();
    if !own.is_empty() {
        let shown = || own.iter().take(MOST).map(|at| view.card(*at));
        let longest = shown().map(|card| columns(&clean(&card.key.id))).max().unwrap_or(0);
        let id_width = longest.clamp(7, 24);
        // What stands before the finding: two spaces, the id, the status and what parts them.
        let before = id_width + 12;
        writeln!(out, "\n  {}  status  leading finding", pad("episode", id_width))?;
        for &place in own.iter().take(MOST) {
            let card = view.card(place);
            let more = view.own(place).len() - 1;
            let more = if more == 0 { String::new() } else { format!(" (+{more})") };
            let leading = view.own(place).next().map_or_else(String::new, |finding| {
                let known = if view.known(card, finding) == Some(true) { "known: " } else { "" };
                format!("{known}{}{more}", finding_message(finding, view.rig))
            });
            let status = Status::from(card.verdict);
            let id = wrap(&card.key.id, "", 0, id_width);
            let leading = wrap(&leading, "", 0, view.width - before);
            for at in 0..id.len().max(leading.len()) {
                let of = |lines: &[String]| lines.get(at).cloned().unwrap_or_default();
                let status = if at == 0 { status.column() } else { " ".repeat(6) };
                let line = format!("  {}  {status}  {}", pad(&of(&id), id_width), of(&leading));
                writeln!(out, "{}", line.trim_end())?;
            }
        }
        if own.len() > MOST {
            writeln!(out, "  and {} more: {} --plain", own.len() - MOST, view.command)?;
        }
    }
    suppressed(view.outcome.session.suppressed, out)?;
    if bad > own.len() {
        let others = count((bad - own.len()) as u64, "episode");
        writeln!(out, "\n  {others} with nothing but what concerns the whole session")?;
    }
    Ok(())
}

/// Says how much was left out because it only follows from what is shown.
pub(super) fn suppressed(number: u64, out: &mut dyn Write) -> io::Result<()> {
    if number == 0 {
        return Ok(());
    }
    writeln!(out, "\n  {} not shown", count(number, "suppressed finding"))
}

fn not_assessed(view: &View<'_>, out: &mut dyn Write) -> io::Result<()> {
    let not_assessed = &view.outcome.session.not_assessed;
    // Joints that lack the same thing for the same reason share a line, and so do checks.
    let mut groups: Vec<(Vec<&str>, &str, u64, Vec<&str>)> = Vec::new();
    for hole in not_assessed {
        let joint = hole.joint.map(|j| view.rig.joint_name(j));
        let same = |g: &&mut (Vec<&str>, &str, u64, Vec<&str>)| {
            let check = g.0.contains(&hole.check.id);
            let whole = joint.is_none() && g.3.is_empty() && g.2 == hole.episodes;
            g.1 == hole.reason && (check || whole)
        };
        match groups.iter_mut().find(same) {
            Some(group) => {
                group.2 = group.2.max(hole.episodes);
                group.3.extend(joint);
                if !group.0.contains(&hole.check.id) {
                    group.0.push(hole.check.id);
                }
            }
            None => groups.push((
                vec![hole.check.id],
                &hole.reason,
                hole.episodes,
                joint.into_iter().collect(),
            )),
        }
    }
    if groups.is_empty() && view.outcome.session.left_out.is_empty() {
        return Ok(());
    }
    writeln!(out, "\n  not assessed:")?;
    for (checks, reason, episodes, joints) in groups.iter().take(MOST) {
        let joints =
            if joints.is_empty() { String::new() } else { format!(" ({})", joints.join(", ")) };
        let all = view.outcome.session.episodes;
        let share = if *episodes >= all {
            String::new()
        } else {
            format!(", in {episodes} of {}", count(all, "episode"))
        };
        let text = format!("{}{joints}: {reason}{share}", checks.join(", "));
        put(out, &wrap(&text, "  - n/a   ", 10, view.width))?;
    }
    if groups.len() > MOST {
        writeln!(out, "  and {} more: {} --plain", groups.len() - MOST, view.command)?;
    }
    match view.left_out() {
        Some(text) => put(out, &wrap(&text, "  - n/a   ", 10, view.width)),
        None => Ok(()),
    }
}

/// How the rig was understood, where that needs saying.
fn notices(view: &View<'_>, out: &mut dyn Write) -> io::Result<()> {
    if view.rig.notices.is_empty() {
        return Ok(());
    }
    writeln!(out, "\n  of the rig:")?;
    view.rig
        .notices
        .iter()
        .try_for_each(|text| put(out, &wrap(&clean(text), "  - ", 4, view.width)))
}

fn unread(view: &View<'_>, out: &mut dyn Write) -> io::Result<()> {
    for (trouble, files) in files::by_trouble(&view.outcome.unread) {
        writeln!(out, "\n  {trouble}, so not audited:")?;
        for file in files.iter().take(MOST) {
            let text = format!("{}: {}", file.path.display(), file.reason);
            put(out, &wrap(&text, "  ", 4, view.width))?;
        }
        if files.len() > MOST {
            writeln!(out, "  and {} more: {} --plain", files.len() - MOST, view.command)?;
        }
    }
    if let Some(text) = files::skipped(&view.outcome.skipped) {
        writeln!(out)?;
        put(out, &wrap(&format!("skipped: {text}"), "  ", 4, view.width))?;
    }
    Ok(())
}

/// A command to paste, whole even where it is longer than a line.
pub(super) fn next(view: &View<'_>, out: &mut dyn Write) -> io::Result<()> {
    let command = view.command;
    let session = &view.outcome.session;
    // A cause on the rig comes first, unless single episodes are worse than it.
    let leading = view.session_findings().first();
    let leading = leading.filter(|f| Verdict::from(f.severity) == session.verdict);
    match (leading, view.digest.order.first().copied()) {
        (Some(finding), _) => writeln!(out, "  next: teleassay explain {}", finding.check.id),
        (None, _) if view.nothing_assessed() => {
            let check = session.not_assessed.first().map_or("", |hole| hole.check.id);
            writeln!(out, "  next: teleassay explain {check}")
        }
        (None, Some(worst)) if view.card(worst).verdict != Verdict::Pass => {
            let card = view.card(worst);
            // Where it can be seen, seeing it comes first.
            let place =
                view.own(worst).next().filter(|finding| !finding.spans.as_slice().is_empty());
            if let Some(trace) = place.and_then(|finding| view.trace(card, finding.joint)) {
                return writeln!(out, "  next: {trace}");
            }
            writeln!(out, "  next: {command} --episode {}", super::text::quote(&card.key.id))
        }
        _ => writeln!(out, "  next: {command} --out-keep-list keep.txt"),
    }
}
