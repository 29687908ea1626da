//! Prints and writes an outcome, whether it was audited or judged.

use std::io::{self, Write};

use super::args::{Format, RunArgs};
use super::error::CliError;
use super::output::{to_file, to_stdout, to_stdout_as_is};
use super::settings::{ending, list_format, spreadsheet};
use crate::app;
use crate::model::CardPlace;
use crate::report::{self, Detail, ListKind, ScoreTable, View};
use crate::source::Source;

/// Prints and writes everything that was asked for.
///
/// `source` is where an episode can be read again for its trace; none where the data is not at
/// hand.
pub fn show(run: &RunArgs, view: &View<'_>, source: Option<&dyn Source>) -> Result<(), CliError> {
    let only = run.episode.as_deref().map(|id| episode(view, id)).transpose()?;
    known_key(run, view)?;
    // Files first: a closed pipe on standard output must not cost them.
    files(run, view, source)?;
    if run.no_screen() {
        return Ok(());
    }
    let shown = run.normalisation || run.by.is_some() || run.plain;
    if matches!(run.format, Format::Json | Format::Jsonl) && !shown {
        return to_stdout_as_is(|out| Ok(print(run, view, only, out)?));
    }
    to_stdout(|out| Ok(print(run, view, only, out)?))
}

fn print(
    run: &RunArgs,
    view: &View<'_>,
    only: Option<CardPlace>,
    out: &mut dyn Write,
) -> io::Result<()> {
    if run.normalisation {
        return report::normalisation(view, out);
    }
    if let Some(key) = &run.by {
        return report::by(view, key, out);
    }
    if run.plain {
        return report::plain(view, only.map(|place| view.card(place)), out);
    }
    match (run.format, only) {
        (Format::Table, None) => report::session(view, detail(run), out),
        (Format::Table, Some(place)) => report::card(view, view.card(place), out),
        (Format::Json, only) => report::json(view, only, run.json_detail, out),
        (Format::Jsonl, only) => report::jsonl(view, only, run.json_detail, out),
        (Format::Markdown, _) => report::markdown(view, out),
        (Format::Github, _) => report::github(view, out),
    }
}

/// Refuses a key that no episode has.
fn known_key(run: &RunArgs, view: &View<'_>) -> Result<(), CliError> {
    let Some(key) = &run.by else { return Ok(()) };
    let keys = report::breakdown_keys(view);
    if keys.contains(key) {
        return Ok(());
    }
    let what = match keys.as_slice() {
        [] => format!("no two episodes differ in \"{key}\", or in anything else to group them by"),
        _ => format!("no two episodes differ in \"{key}\"; they differ in {}", keys.join(", ")),
    };
    let hint =
        format!("a column of the table is declared in the profile: [columns] labels = [\"{key}\"]");
    Err(CliError::input(what).with_hint(hint))
}

/// How much of a session is printed.
fn detail(run: &RunArgs) -> Detail {
    match (run.brief, run.all) {
        (true, _) => Detail::Brief,
        (_, true) => Detail::All,
        _ => Detail::Usual,
    }
}

fn files(run: &RunArgs, view: &View<'_>, source: Option<&dyn Source>) -> Result<(), CliError> {
    if let Some(path) = &run.out_html {
        let (traces, left_out) = app::traces(view, source, run.threads)?;
        to_file(path, |out| report::html::html(view, &traces, left_out, out))?;
    }
    if let Some(path) = &run.out_junit {
        to_file(path, |out| report::junit(view, run.fail_on.severity(), out))?;
    }
    if let Some(path) = &run.out_json {
        to_file(path, |out| report::json(view, None, run.json_detail, out))?;
    }
    // The Parquet table was written while the data was measured.
    if let Some(path) = spreadsheet(run) {
        let table = ScoreTable::new(view).map_err(|e| CliError::internal(e.to_string()))?;
        to_file(path, |out| report::write_csv(&table, out).map_err(io::Error::other))?;
    }
    if let Some(path) = &run.out_findings {
        let write = match ending(path).as_deref() {
            Some("csv") => report::findings_csv,
            _ => report::findings_parquet,
        };
        to_file(path, |out| write(view, out).map_err(io::Error::other))?;
    }
    let lists = [(&run.out_keep_list, ListKind::Keep), (&run.out_drop_list, ListKind::Drop)];
    for (path, kind) in lists {
        let Some(path) = path else { continue };
        let format = list_format(path);
        to_file(path, |out| {
            let written = report::episode_list(view, kind, run.keep_from, format, out);
            written.map_err(io::Error::other)
        })?;
    }
    Ok(())
}

fn episode(view: &View<'_>, id: &str) -> Result<CardPlace, CliError> {
    let ids = || view.outcome.cards.iter().map(|card| card.key.id.as_str());
    view.find(id).ok_or_else(|| app::no_episode(id, &ids()).into())
}
