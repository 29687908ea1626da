//! Prints and writes an outcome, whether it was audited or judged.

use std::io::{self, Write};

use teleassay::model::{Scorecard, count};
use teleassay::profile::nearest;
use teleassay::report::{self, ScoreTable, View};
use teleassay::source::Source;

use super::args::{Format, RunArgs};
use super::error::CliError;
use super::html::html_report;
use super::output::{to_file, to_stdout};
use super::settings::{TableKind, extension};

/// Prints and writes everything that was asked for.
///
/// `source` is where an episode can be read again for its trace; none where the data is not at hand.
pub fn tell(run: &RunArgs, view: &View<'_>, source: Option<&dyn Source>) -> Result<(), CliError> {
    let only = run.episode.as_deref().map(|id| episode(view, id)).transpose()?;
    // Files first: a closed pipe on standard output must not cost them.
    files(run, view, source)?;
    to_stdout(|out| Ok(print(run, view, only, out)?))
}

fn print(
    run: &RunArgs,
    view: &View<'_>,
    only: Option<&Scorecard>,
    out: &mut dyn Write,
) -> io::Result<()> {
    if run.normalisation {
        return report::normalisation(view, out);
    }
    if run.plain {
        return report::plain(view, only, out);
    }
    match (run.format, only) {
        (Format::Table, None) => report::session(view, out),
        (Format::Table, Some(card)) => report::card(view, card, out),
        (Format::Json, only) => report::json(&report::document(view, only), out),
        (Format::Jsonl, only) => report::jsonl(view, only, out),
        (Format::Markdown, _) => report::markdown(view, out),
        (Format::Github, _) => report::github(view, out),
    }
}

fn files(run: &RunArgs, view: &View<'_>, source: Option<&dyn Source>) -> Result<(), CliError> {
    if let Some(path) = &run.out_html {
        html_report(path, view, source, run.threads)?;
    }
    if let Some(path) = &run.out_junit {
        to_file(path, |out| report::junit(view, run.fail_on.severity(), out))?;
    }
    if let Some(path) = &run.out_json {
        to_file(path, |out| report::json(&report::document(view, None), out))?;
    }
    // The Parquet table was written while the data was measured.
    if let Some(path) = &run.out_scorecard
        && extension(path)? == TableKind::Csv
    {
        let table = ScoreTable::new(view).map_err(|e| CliError::internal(e.to_string()))?;
        to_file(path, |out| report::write_csv(&table, out).map_err(io::Error::other))?;
    }
    if let Some(path) = &run.out_keep_list {
        to_file(path, |out| report::keep_list(view.outcome, out))?;
    }
    Ok(())
}

fn episode<'a>(view: &View<'a>, id: &str) -> Result<&'a Scorecard, CliError> {
    view.find(id).ok_or_else(|| {
        let ids = || view.outcome.cards.iter().map(|card| card.key.id.as_str());
        let hint = nearest(id, ids()).map_or_else(
            || {
                let (first, last) = (ids().next().unwrap_or("-"), ids().next_back().unwrap_or("-"));
                let episodes = count(view.outcome.cards.len(), "episode");
                format!("{episodes}, from \"{first}\" to \"{last}\"")
            },
            |near| format!("did you mean \"{near}\"?"),
        );
        CliError::input(format!("there is no episode \"{id}\"")).with_hint(hint)
    })
}
