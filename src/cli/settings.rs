//! Requests to the application, made of what was typed.

use std::path::{Path, PathBuf};
use std::time::SystemTime;

use chrono::{DateTime, NaiveDate};

use super::args::{
    AuditArgs, ColumnArgs, CompareArgs, DataArgs, DemoArgs, Format, JudgeArgs, KeepArgs,
    KeepFromArg, RunArgs, TraceArgs,
};
use super::error::CliError;
use super::interrupt;
use crate::app::{
    AuditRequest, Changes, Choice, CompareRequest, DataRequest, DemoRequest, JudgeRequest,
    KeepRequest, KeepVerdict, Requires, Selection, Stated, TraceRequest,
};
use crate::report::{JsonDetail, ListFormat};

/// The dataset.
pub fn data(args: &DataArgs) -> DataRequest {
    DataRequest {
        paths: args.paths.clone(),
        profile: args.profile.clone(),
        rate_hz: args.rate,
        urdf: args.urdf.clone(),
        stated: stated(&args.columns),
        rig: None,
    }
}

/// Columns and unit.
fn stated(args: &ColumnArgs) -> Stated {
    Stated {
        state: args.state.clone(),
        action: args.action.clone(),
        time: args.time.clone(),
        episode: args.episode_column.clone(),
        unit: args.unit.clone(),
    }
}

/// A clean copy.
pub fn keep(args: &KeepArgs) -> KeepRequest {
    let verdict = args.keep_from.map(|from| match from {
        KeepFromArg::Ok => KeepVerdict::Ok,
        KeepFromArg::Warn => KeepVerdict::Warn,
        KeepFromArg::Fail => KeepVerdict::Fail,
    });
    KeepRequest {
        data: data(&args.data),
        to: args.to.clone(),
        checks: choice(&args.only, &args.skip),
        select: Selection {
            verdict,
            episodes: args.episodes.clone(),
            leave_out: args.leave_out.clone(),
            without: args.without.clone(),
            tasks: args.task.clone(),
            condition: args.condition.clone(),
        },
        change: Changes {
            trim_idle: args.trim_idle,
            trim: args.trim.clone(),
            split: args.split,
            drop_doubled: args.drop_doubled,
            mend: args.mend.clone(),
            renumber: args.renumber,
        },
        dry_run: args.dry_run,
        threads: args.threads,
        options: super::pasted::keep_options(args),
    }
}

/// What must have been looked at.
fn requires(run: &RunArgs) -> Requires {
    Requires {
        checks: run.require.clone(),
        min_assessed: run.min_assessed,
        episode: run.episode.clone(),
    }
}

/// The day, by the clock of this machine.
fn today() -> Option<NaiveDate> {
    let since = SystemTime::now().duration_since(SystemTime::UNIX_EPOCH).ok()?;
    Some(DateTime::from_timestamp(since.as_secs() as i64, 0)?.date_naive())
}

/// Which checks run.
pub fn choice(only: &[String], skip: &[String]) -> Choice {
    Choice { only: only.to_vec(), skip: skip.to_vec() }
}

/// An audit.
pub fn audit(args: &AuditArgs) -> Result<AuditRequest, CliError> {
    let run = &args.run;
    outputs(run)?;
    Ok(AuditRequest {
        data: DataRequest { rig: args.rig.clone(), ..data(&args.data) },
        checks: choice(&run.only, &run.skip),
        baseline: run.baseline.clone(),
        requires: requires(run),
        today: today(),
        hash_inputs: run.hash_inputs,
        keep_readings: keeps_readings(run),
        sketch_motions: stored(run).is_some() || run.normalisation,
        threads: run.threads,
        writes: run.outs().cloned().collect(),
    })
}

/// A judgement of measurements files.
pub fn judge(args: &JudgeArgs) -> Result<JudgeRequest, CliError> {
    let run = &args.run;
    outputs(run)?;
    if stored(run).is_some() {
        let what = "a measurements file holds what was measured, and judging measures nothing";
        let hint = "keep the file as it is, and name several at once to judge them together";
        return Err(CliError::input(what).with_hint(hint));
    }
    Ok(JudgeRequest {
        measurements: args.measurements.clone(),
        profile: args.profile.clone(),
        checks: choice(&run.only, &run.skip),
        baseline: run.baseline.clone(),
        requires: requires(run),
        today: today(),
        keep_readings: keeps_readings(run),
        sketch_motions: run.normalisation,
        threads: run.threads,
        writes: run.outs().cloned().collect(),
    })
}

/// A comparison. Each side has its own profile unless one is given for all, or for all but the first.
pub fn compare(args: &CompareArgs) -> CompareRequest {
    let side = |path: &Path, profile: Option<&PathBuf>| DataRequest {
        profile: profile.cloned(),
        rate_hz: args.rate,
        stated: stated(&args.columns),
        ..DataRequest::new(path)
    };
    let later = args.profile_b.as_ref().or(args.profile.as_ref());
    let writes = [&args.out_json, &args.out_html].into_iter().flatten();
    CompareRequest {
        a: side(&args.a, args.profile.as_ref()),
        b: side(&args.b, later),
        more: args.more.iter().map(|path| side(path, later)).collect(),
        threads: args.threads,
        writes: writes.cloned().collect(),
    }
}

/// One episode.
pub fn trace(args: &TraceArgs) -> TraceRequest {
    let writes = [&args.out_svg, &args.out_html].into_iter().flatten();
    TraceRequest {
        data: data(&args.data),
        episode: args.episode.clone(),
        checks: choice(&args.only, &args.skip),
        joints: args.joint.clone(),
        writes: writes.cloned().collect(),
    }
}

/// A demonstration.
pub fn demo(args: &DemoArgs) -> DemoRequest {
    DemoRequest {
        dir: args.dir.clone(),
        episodes: args.episodes,
        rate_hz: args.rate,
        seed: args.seed,
        layout: args.layout,
        stop: interrupt::came,
    }
}

/// The measurements file that is written while the data is measured.
pub fn stored(run: &RunArgs) -> Option<&Path> {
    let path = run.out_measurements.as_deref()?;
    (table_kind(path) == Some(TableKind::Parquet)).then_some(path)
}

/// The table of measurements for a spreadsheet.
pub fn spreadsheet(run: &RunArgs) -> Option<&Path> {
    let path = run.out_measurements.as_deref()?;
    (table_kind(path) == Some(TableKind::Csv)).then_some(path)
}

/// Whether anything that was asked for shows the readings of single episodes.
fn keeps_readings(run: &RunArgs) -> bool {
    let json = matches!(run.format, Format::Json | Format::Jsonl);
    (json || run.out_json.is_some()) && run.json_detail == JsonDetail::Full
        || !json && run.format != Format::Table
        || run.plain
        || run.episode.is_some()
        || spreadsheet(run).is_some()
}

/// Holds what is to be written against what can be.
fn outputs(run: &RunArgs) -> Result<(), CliError> {
    if run.episode.is_some() && run.format.of_session() {
        return Err(CliError::input("a summary for a job page is of the whole session")
            .with_hint("leave out --episode, or choose another --format"));
    }
    let tables =
        [("--out-measurements", &run.out_measurements), ("--out-findings", &run.out_findings)];
    for (option, path) in tables {
        if let Some(path) = path.as_deref().filter(|path| table_kind(path).is_none()) {
            let what = format!("{} is neither .parquet nor .csv", path.display());
            let hint = format!("end the name of {option} in .parquet or .csv");
            return Err(CliError::input(what).with_hint(hint));
        }
    }
    Ok(())
}

/// How a list is written, by its file's name.
pub fn list_format(path: &Path) -> ListFormat {
    match ending(path).as_deref() {
        Some("parquet") => ListFormat::Parquet,
        Some("csv") => ListFormat::Csv,
        Some("json") => ListFormat::Json,
        _ => ListFormat::Ids,
    }
}

/// The ending of a file's name, in small letters.
pub fn ending(path: &Path) -> Option<String> {
    Some(path.extension()?.to_str()?.to_lowercase())
}

/// Kinds of tables of measurements.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum TableKind {
    /// By the parquet crate.
    Parquet,
    /// By polars.
    Csv,
}

/// The kind of table that a file's name asks for.
fn table_kind(path: &Path) -> Option<TableKind> {
    match ending(path)?.as_str() {
        "parquet" => Some(TableKind::Parquet),
        "csv" => Some(TableKind::Csv),
        _ => None,
    }
}
