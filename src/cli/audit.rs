//! Where the command line meets source, engine and demo.

use std::num::NonZero;

use teleassay::check::CHECKS;
use teleassay::cohort::COHORT_CHECKS;
use teleassay::demo::{self, DemoError, Recipe, WriteOptions};
use teleassay::engine::{self, EngineError, Plan, Workers};
use teleassay::model::{CheckSpec, Episode, Outcome, Progress, Scorecard};
use teleassay::profile::nearest;
use teleassay::source::{Dataset, Source, SourceError};

use super::args::Layout;
use super::error::CliError;
use super::settings::{AuditSettings, DataSettings, DemoSettings};

/// Every check that exists, in the order in which a person reads them.
pub fn checks() -> Vec<&'static CheckSpec> {
    let episode = CHECKS.iter().map(|check| check.spec());
    episode.chain(COHORT_CHECKS.iter().map(|check| check.spec())).collect()
}

/// Opens a dataset: finds its tables, decides the roles, surveys the rig.
pub fn open_source(settings: &DataSettings) -> Result<Box<dyn Source>, CliError> {
    Ok(Box::new(open(settings, &Workers::start(None)?)?))
}

fn open(settings: &DataSettings, workers: &Workers) -> Result<Dataset, CliError> {
    let paths: Vec<String> =
        settings.paths.iter().map(|path| path.to_string_lossy().into_owned()).collect();
    let jobs = |n: usize, job: &(dyn Fn(usize) + Sync)| workers.each(n, job);
    Ok(Dataset::open(&paths, &settings.profile.declared, &jobs)?)
}

/// Opens a dataset and audits it.
pub fn run_audit(
    settings: &AuditSettings,
    progress: &mut dyn FnMut(&Progress),
) -> Result<(Box<dyn Source>, Outcome), CliError> {
    let workers = Workers::start(settings.run.threads.map(NonZero::get))?;
    let keep_readings = settings.keeps_readings();
    let plan = Plan { keep_readings, ..plan(&settings.data, &settings.checks) };
    let mut source = open(&settings.data, &workers)?.reading(&plan.extras());
    if settings.run.hash_inputs {
        source = source.hashed(&|n, job| workers.each(n, job));
    }
    let outcome = engine::audit(&source, &plan, &workers, progress);
    Ok((Box::new(source), outcome))
}

fn plan(data: &DataSettings, checks: &[&'static CheckSpec]) -> Plan {
    let runs = |spec: &CheckSpec| checks.iter().any(|check| check.id == spec.id);
    let cohort: Vec<_> = COHORT_CHECKS.iter().copied().filter(|check| runs(check.spec())).collect();
    Plan {
        checks: CHECKS.iter().copied().filter(|check| runs(check.spec())).collect(),
        sketch: cohort.iter().any(|check| check.looks_at_motion()),
        cohort,
        params: data.profile.params.clone(),
        limits: data.profile.limits.clone(),
        keep_readings: true,
    }
}

/// Opens a dataset, reads one episode of it and nothing that lies elsewhere, and looks at it with
/// these checks.
pub fn read_episode(
    data: &DataSettings,
    checks: &[&'static CheckSpec],
    id: &str,
) -> Result<(Box<dyn Source>, Episode, Scorecard), CliError> {
    let workers = Workers::start(None)?;
    let plan = plan(data, checks);
    let source = open(data, &workers)?.reading(&plan.extras());
    let ids = || (0..source.episodes()).filter_map(|at| source.episode_id(at));
    let index = ids().position(|known| known == id).ok_or_else(|| {
        let (first, last) = (ids().next().unwrap_or("-"), ids().last().unwrap_or("-"));
        let near = nearest(id, ids());
        let hint = match source.unread() {
            // It may well be in there, so no other one is proposed.
            [file, ..] => format!("not read: {}: {}", file.path.display(), file.reason),
            [] => near.map_or_else(
                || format!("{} episodes, from \"{first}\" to \"{last}\"", source.episodes()),
                |near| format!("did you mean \"{near}\"?"),
            ),
        };
        CliError::input(format!("there is no episode \"{id}\"")).with_hint(hint)
    })?;
    let mut found = None;
    let unread = engine::episodes(&source, &[index as u64], &workers, &mut |episode| {
        found = Some((episode.clone(), engine::card(episode, &plan)));
    });
    let (episode, card) = found.ok_or_else(|| {
        let why = unread.first().map_or_else(
            || "it holds no row".to_owned(),
            |file| format!("{}: {}", file.path.display(), file.reason),
        );
        CliError::input(format!("episode \"{id}\" could not be read: {why}"))
    })?;
    Ok((Box::new(source), episode, card))
}

/// Opens a dataset and measures it, with a sketch of every motion: for whoever compares sessions.
pub fn measure(
    data: &DataSettings,
    threads: Option<NonZero<usize>>,
    progress: &mut dyn FnMut(&Progress),
) -> Result<(Box<dyn Source>, Outcome), CliError> {
    let workers = Workers::start(threads.map(NonZero::get))?;
    let skips = |spec: &CheckSpec| data.profile.skip.contains(&spec.id);
    let plan = Plan {
        checks: CHECKS.iter().copied().filter(|check| !skips(check.spec())).collect(),
        cohort: Vec::new(),
        params: data.profile.params.clone(),
        limits: data.profile.limits.clone(),
        keep_readings: false,
        sketch: true,
    };
    let source = open(data, &workers)?.reading(&plan.extras());
    let outcome = engine::audit(&source, &plan, &workers, progress);
    Ok((Box::new(source), outcome))
}

/// Writes the demonstration session; returns what to tell the person, line by line.
pub fn write_demo(settings: &DemoSettings) -> Result<Vec<String>, CliError> {
    let recipe = Recipe {
        rate_hz: settings.rate_hz,
        seed: settings.seed,
        ..Recipe::nursery().of_episodes(u64::from(settings.episodes))
    };
    let layout = match settings.layout {
        Layout::List => demo::Layout::List,
        Layout::LargeList => demo::Layout::LargeList,
        Layout::FixedSizeList => demo::Layout::FixedSizeList,
        Layout::Struct => demo::Layout::Struct,
        Layout::Scalars => demo::Layout::Scalars,
        Layout::FilePerEpisode => demo::Layout::FilePerEpisode,
        Layout::IpcFile => demo::Layout::IpcFile,
        Layout::IpcStream => demo::Layout::IpcStream,
    };
    let options = WriteOptions { layout, ..WriteOptions::default() };
    let written = demo::write(&settings.dir, &recipe, &options)?;
    let (dir, tables) = (settings.dir.display(), written.tables.len());
    let (episodes, frames) = (written.episodes, written.frames);
    Ok(vec![
        format!("wrote {episodes} episodes ({frames} frames) to {tables} tables in {dir}"),
        "an arm moves seedling plugs from tray to pot; some episodes have a planted fault".into(),
        format!("what was planted: {dir}/answers.json"),
        String::new(),
    ])
}

impl From<SourceError> for CliError {
    fn from(error: SourceError) -> Self {
        let text = error.to_string();
        // What is wrong comes first, the way out behind it.
        let (what, hint) = text.split_once("; ").unwrap_or((&text, ""));
        let made = if error.nothing_found() { Self::nothing(what) } else { Self::input(what) };
        made.with_hint(hint)
    }
}

impl From<EngineError> for CliError {
    fn from(error: EngineError) -> Self {
        Self::internal(error.to_string())
    }
}

impl From<DemoError> for CliError {
    fn from(error: DemoError) -> Self {
        Self::input(error.to_string())
    }
}
