//! Workflow annotations: lines that a job's log turns into marks on the page of the run.
//!
//! Of one step, ten errors and ten warnings are shown and the rest is dropped without a word
//! (GitHub Docs, "Workflow commands for GitHub Actions"); so ten are written, the worst first, and
//! a closing line counts the others. Escapes are those of `actions/toolkit`, `command.ts`.

use std::io::{self, Write};

use super::files::trouble;
use super::sentence;
use super::text::{clean, count, shorten};
use super::view::View;
use super::words::{finding_message, session_message, with_remedy};
use crate::model::Severity;

/// Annotations of one kind that are shown.
const MOST: usize = 10;
/// Characters of one message: a name from the data may be of any length.
const LONGEST: usize = 1000;

/// Writes the annotations of a session.
///
/// # Errors
/// If the output cannot be written.
pub fn github(view: &View<'_>, out: &mut dyn Write) -> io::Result<()> {
    let mut page = Page { out, errors: 0, warnings: 0 };
    for finding in view.session_findings() {
        let message = session_message(finding, &view.outcome.cards, view.rig);
        let details = with_remedy(&message, finding.check);
        page.put(finding.severity, "whole session", &details)?;
    }
    for file in &view.outcome.unread {
        let details = format!("{}: {}", file.path.display(), file.reason);
        let what = format!("{}, so not audited", trouble(file));
        page.put(Severity::Fail, &what, &details)?;
    }
    for text in view.gate_missing() {
        page.put(Severity::Fail, "not assessed", &text)?;
    }
    for place in view.flagged() {
        let card = view.card(place);
        let Some(leading) = view.own(place).next() else { continue };
        let more = view.own(place).len() - 1;
        let more = if more == 0 { String::new() } else { format!(" (+{more} more)") };
        let details = format!("{}{more}", finding_message(leading, view.rig));
        page.put(leading.severity, &format!("episode {}", card.key.id), &details)?;
    }
    let (errors, warnings) = (page.errors, page.warnings);
    let hidden = |n: usize, noun| count(n.saturating_sub(MOST) as u64, noun);
    let mut details = sentence::session(view).whole();
    if errors > MOST || warnings > MOST {
        details = format!(
            "{details} Not shown here: {} and {}; all are in the output of {} --plain",
            hidden(errors, "error"),
            hidden(warnings, "warning"),
            view.command
        );
    }
    command(out, "notice", "teleassay", &details)
}

struct Page<'a> {
    out: &'a mut dyn Write,
    errors: usize,
    warnings: usize,
}

impl Page<'_> {
    /// Writes one, or counts it if there are enough of its kind.
    fn put(&mut self, severity: Severity, title: &str, details: &str) -> io::Result<()> {
        let (kind, number) = match severity {
            Severity::Fail => ("error", &mut self.errors),
            Severity::Warn => ("warning", &mut self.warnings),
        };
        *number += 1;
        if *number > MOST {
            return Ok(());
        }
        command(self.out, kind, title, details)
    }
}

fn command(out: &mut dyn Write, kind: &str, title: &str, details: &str) -> io::Result<()> {
    let title = data(title).replace(':', "%3A").replace(',', "%2C");
    writeln!(out, "::{kind} title={title}::{}", data(details))
}

/// What follows the command: in one line, and no character that would end it.
fn data(text: &str) -> String {
    let line = shorten(text.trim(), LONGEST);
    let escaped = line.replace('%', "%25").replace('\r', "%0D").replace('\n', "%0A");
    // What is left of control characters would recolour the log.
    clean(&escaped)
}
