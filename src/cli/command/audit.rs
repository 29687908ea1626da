//! `audit`: measure, judge, print, write.

use std::io::{self, Write};

use teleassay::model::{CheckSpec, Outcome, Scorecard};
use teleassay::profile::nearest;
use teleassay::report::{self, ScoreTable, View};
use teleassay::source::Source;

use crate::cli::args::{AuditArgs, Format};
use crate::cli::audit::{checks, open_source, run_audit};
use crate::cli::error::CliError;
use crate::cli::html::html_report;
use crate::cli::output::{Gate, spare_inputs, to_file, to_stdout, width};
use crate::cli::progress::Bar;
use crate::cli::settings::{AuditSettings, TableKind, extension};

/// Runs the command.
pub fn run(args: AuditArgs) -> Result<Gate, CliError> {
    let settings = AuditSettings::new(args)?;
    if settings.run.show_profile {
        return show_profile(&settings);
    }
    let bar = Bar::new(settings.run.quiet);
    let result = run_audit(&settings, &mut |progress| bar.show(progress));
    bar.clear();
    let (source, outcome) = result?;
    if outcome.session.episodes == 0 {
        return Err(nothing(&outcome));
    }
    tell(&settings, &*source, &outcome)?;
    let gate = Gate::of(&outcome, settings.run.fail_on);
    // The process ends here: taking thousands of kept files apart first would only cost time.
    std::mem::forget((source, outcome));
    Ok(gate)
}

/// The profile in force, as it can be fed back in.
fn show_profile(settings: &AuditSettings) -> Result<Gate, CliError> {
    let source = open_source(&settings.data)?;
    let mut profile = settings.data.profile.over(source.rig(), source.roles());
    let runs = |spec: &CheckSpec| settings.checks.iter().any(|check| check.id == spec.id);
    profile.skip = checks().iter().filter(|spec| !runs(spec)).map(|spec| spec.id).collect();
    let text = profile.to_whole_toml(&checks());
    to_stdout(|out| Ok(out.write_all(text.as_bytes())?))?;
    Ok(Gate::Open)
}

/// Prints and writes everything that was asked for.
fn tell(settings: &AuditSettings, source: &dyn Source, outcome: &Outcome) -> Result<(), CliError> {
    let view = View {
        outcome,
        rig: source.rig(),
        roles: source.roles(),
        inputs: source.inputs(),
        limits: &settings.data.profile.limits,
        checks: &settings.checks,
        command: &settings.command,
        width: width(),
    };
    let only = settings.run.episode.as_deref().map(|id| episode(&view, id)).transpose()?;
    // Files first: a closed pipe on standard output must not cost them.
    files(settings, &view, source)?;
    to_stdout(|out| Ok(print(settings, &view, only, out)?))
}

fn print(
    settings: &AuditSettings,
    view: &View<'_>,
    only: Option<&Scorecard>,
    out: &mut dyn Write,
) -> io::Result<()> {
    if settings.run.plain {
        return report::plain(view, only, out);
    }
    match (settings.run.format, only) {
        (Format::Table, None) => report::session(view, out),
        (Format::Table, Some(card)) => report::card(view, card, out),
        (Format::Json, only) => report::json(&report::document(view, only), out),
        (Format::Jsonl, only) => report::jsonl(view, only, out),
        (Format::Markdown, _) => report::markdown(view, out),
        (Format::Github, _) => report::github(view, out),
    }
}

fn files(settings: &AuditSettings, view: &View<'_>, source: &dyn Source) -> Result<(), CliError> {
    let run = &settings.run;
    let outputs =
        [&run.out_html, &run.out_json, &run.out_junit, &run.out_scorecard, &run.out_keep_list];
    for path in outputs.into_iter().flatten() {
        spare_inputs(path, view.inputs)?;
    }
    if let Some(path) = &run.out_html {
        html_report(path, view, source, run.threads)?;
    }
    if let Some(path) = &settings.run.out_json {
        to_file(path, |out| report::json(&report::document(view, None), out))?;
    }
    if let Some(path) = &run.out_junit {
        to_file(path, |out| report::junit(view, run.fail_on.severity(), out))?;
    }
    if let Some(path) = &settings.run.out_scorecard {
        let kind = extension(path)?;
        let table = ScoreTable::new(view).map_err(|e| CliError::internal(e.to_string()))?;
        to_file(path, |out| {
            match kind {
                TableKind::Csv => report::write_csv(&table, out),
                TableKind::Parquet => report::write_parquet(&table, out),
            }
            .map_err(io::Error::other)
        })?;
    }
    if let Some(path) = &settings.run.out_keep_list {
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
                format!("{} episodes, from \"{first}\" to \"{last}\"", view.outcome.cards.len())
            },
            |near| format!("did you mean \"{near}\"?"),
        );
        CliError::input(format!("there is no episode \"{id}\"")).with_hint(hint)
    })
}

/// Nothing was audited: either nothing was there, or nothing of it could be read.
pub fn nothing(outcome: &Outcome) -> CliError {
    match outcome.unread.as_slice() {
        [] => CliError::nothing("the dataset holds no episode").with_hint(
            "a table needs at least one row; `teleassay columns PATH` shows what is read",
        ),
        [file, rest @ ..] => {
            let more = match rest.len() {
                0 => String::new(),
                n => format!(" (and {n} more files)"),
            };
            let path = file.path.display();
            CliError::input(format!("nothing could be read: {path}: {}{more}", file.reason))
        }
    }
}
