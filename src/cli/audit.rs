//! Where the command line meets source, engine and demo.

use std::num::NonZero;
use std::path::Path;
use std::sync::Arc;

use teleassay::check::CHECKS;
use teleassay::cohort::COHORT_CHECKS;
use teleassay::demo::{self, DemoError, Recipe, WriteOptions};
use teleassay::engine::{self, EngineError, Plan, Workers};
use teleassay::model::{
    CheckSpec, Episode, EpisodeIndex, Known, Outcome, Progress, Rig, Scorecard, count,
};
use teleassay::profile::{Profile, nearest};
use teleassay::source::{Dataset, Source, SourceError};
use teleassay::store::{self, About, StoreError, Stored, Writer};

use super::args::{Layout, RunArgs};
use super::error::CliError;
use super::file::Pending;
use super::interrupt::UpToSignal;
use super::output::spare;
use super::settings::{
    AuditSettings, DataSettings, DemoSettings, JudgeSettings, TableKind, extension, keeps_readings,
};

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

/// Opens a dataset and audits it; a stored scorecard is written as it goes.
pub fn run_audit(
    settings: &AuditSettings,
    progress: &mut dyn FnMut(&Progress),
) -> Result<(Box<dyn Source>, Outcome), CliError> {
    let run = &settings.run;
    let workers = Workers::start(run.threads.map(NonZero::get))?;
    let stored =
        run.out_scorecard.as_ref().filter(|path| matches!(extension(path), Ok(TableKind::Parquet)));
    let profile = &settings.data.profile;
    let keep_readings = keeps_readings(run);
    let mut plan = Plan { keep_readings, ..plan(profile, &settings.checks) };
    plan.sketch |= stored.is_some() || !run.baseline.is_empty() || run.normalisation;
    let mut source = open(&settings.data, &workers)?.reading(&plan.extras());
    if run.hash_inputs {
        source = source.hashed(&|n, job| workers.each(n, job));
    }
    spare(run.outs(), source.inputs(), &settings.spared)?;
    let baseline = baseline(run, source.rig())?;
    let mut outcome = match stored {
        None => engine::audit(&source, &plan, &workers, progress),
        Some(path) => {
            let about = About {
                rig: Arc::clone(source.rig()),
                roles: source.roles().to_vec(),
                inputs: source.inputs().to_vec(),
                checks: plan.checks.iter().map(|check| check.spec()).collect(),
                params: plan.params.clone(),
            };
            let (pending, out) = Pending::begin(path)?;
            let written = Writer::new(Box::new(out), about).and_then(|writer| {
                engine::audit_into(writer, &UpToSignal(&source), &plan, &workers, progress)
            });
            let outcome = written.map_err(|error| {
                pending.failed(match error {
                    StoreError::Unwritten(what) => CliError::write(path, &what),
                    other => other.into(),
                })
            })?;
            if outcome.session.episodes > 0 {
                pending.keep()?;
            }
            outcome
        }
    };
    outcome.known = known(&outcome, baseline.as_ref(), &plan, &workers)?;
    Ok((Box::new(source), outcome))
}

/// Judges stored scorecards again.
pub fn run_judge(
    settings: &JudgeSettings,
    progress: &mut dyn FnMut(&Progress),
) -> Result<(Stored, Outcome), CliError> {
    let workers = Workers::start(settings.run.threads.map(NonZero::get))?;
    let keep_readings = keeps_readings(&settings.run);
    let mut plan = Plan { keep_readings, ..plan(&settings.profile, &settings.checks) };
    plan.sketch |= settings.run.normalisation;
    let stored = store::read(&settings.scorecards)?;
    spare(settings.run.outs(), stored.inputs(), &settings.spared)?;
    let baseline = baseline(&settings.run, stored.rig())?;
    let mut outcome = engine::rejudge(&stored, &plan, &workers, progress)?;
    outcome.known = known(&outcome, baseline.as_ref(), &plan, &workers)?;
    Ok((stored, outcome))
}

/// The rig of stored scorecards, with a notice where the profile asks for other parameters than
/// those that were measured with.
pub fn rig_as_measured(stored: &Stored, settings: &JudgeSettings) -> Rig {
    let mut rig = Rig::clone(stored.rig());
    let mut apart = Vec::new();
    for check in &settings.checks {
        let Some(measured) = stored.parameters().get(check.id) else { continue };
        for param in check.params {
            let asked = settings.profile.params.get(check, param);
            if let Some(had) = measured.get(param.id).filter(|had| **had != asked) {
                apart.push(format!("{} {} = {had}, not {asked}", check.id, param.id));
            }
        }
    }
    if !apart.is_empty() {
        rig.notices.push(format!(
            "measured with {}: parameters act when data is measured, so audit again to change them",
            apart.join(", ")
        ));
    }
    rig
}

fn plan(profile: &Profile, checks: &[&'static CheckSpec]) -> Plan {
    let runs = |spec: &CheckSpec| checks.iter().any(|check| check.id == spec.id);
    let cohort: Vec<_> = COHORT_CHECKS.iter().copied().filter(|check| runs(check.spec())).collect();
    Plan {
        checks: CHECKS.iter().copied().filter(|check| runs(check.spec())).collect(),
        sketch: cohort.iter().any(|check| check.looks_at_motion()),
        cohort,
        params: profile.params.clone(),
        limits: profile.limits.clone(),
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
    let plan = plan(&data.profile, checks);
    let source = open(data, &workers)?.reading(&plan.extras());
    let all = || (0..source.episodes()).map(EpisodeIndex::new);
    let ids = || all().filter_map(|at| source.episode_id(at));
    let index = all().find(|at| source.episode_id(*at) == Some(id)).ok_or_else(|| {
        let (first, last) = (ids().next().unwrap_or("-"), ids().last().unwrap_or("-"));
        let near = nearest(id, ids());
        let hint = match source.unread() {
            // It may well be in there, so no other one is proposed.
            [file, ..] => format!("not read: {}: {}", file.path.display(), file.reason),
            [] => near.map_or_else(
                || {
                    format!(
                        "{}, from \"{first}\" to \"{last}\"",
                        count(source.episodes(), "episode")
                    )
                },
                |near| format!("did you mean \"{near}\"?"),
            ),
        };
        CliError::input(format!("there is no episode \"{id}\"")).with_hint(hint)
    })?;
    let mut found = None;
    let unread = engine::episodes(&source, &[index], &workers, &mut |episode| {
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
    let plan = to_compare(&data.profile);
    let source = open(data, &workers)?.reading(&plan.extras());
    let outcome = engine::audit(&source, &plan, &workers, progress);
    Ok((Box::new(source), outcome))
}

/// The same of a scorecard, in which all of that was stored.
pub fn measured(
    scorecard: &Path,
    profile: &Profile,
    threads: Option<NonZero<usize>>,
    progress: &mut dyn FnMut(&Progress),
) -> Result<(Stored, Outcome), CliError> {
    let workers = Workers::start(threads.map(NonZero::get))?;
    let stored = store::read(&[scorecard.to_path_buf()])?;
    let outcome = engine::rejudge(&stored, &to_compare(profile), &workers, progress)?;
    Ok((stored, outcome))
}

/// What two sessions are compared by.
fn to_compare(profile: &Profile) -> Plan {
    let skips = |spec: &CheckSpec| profile.skip.contains(&spec.id);
    Plan {
        checks: CHECKS.iter().copied().filter(|check| !skips(check.spec())).collect(),
        cohort: Vec::new(),
        params: profile.params.clone(),
        limits: profile.limits.clone(),
        keep_readings: false,
        sketch: true,
    }
}

/// Opens the baseline, before anything is measured that it does not fit.
fn baseline(run: &RunArgs, rig: &Rig) -> Result<Option<Stored>, CliError> {
    if run.baseline.is_empty() {
        return Ok(None);
    }
    let stored = store::read(&run.baseline)?;
    let names = |rig: &Rig| rig.joints.iter().map(|j| j.name.clone()).collect::<Vec<_>>();
    let (now, before) = (names(rig), names(stored.rig()));
    if now != before {
        let what = format!(
            "the baseline is of another rig: its joints are {}, those of the data {}",
            before.join(", "),
            now.join(", ")
        );
        return Err(CliError::input(what).with_hint("name a scorecard of the same rig"));
    }
    Ok(Some(stored))
}

/// What the baseline had as well, judged under the same limits.
fn known(
    outcome: &Outcome,
    baseline: Option<&Stored>,
    plan: &Plan,
    workers: &Workers,
) -> Result<Option<Known>, CliError> {
    let Some(stored) = baseline else { return Ok(None) };
    let before = engine::baseline(stored, plan, workers)?;
    Ok(Some(before.known(&outcome.cards, &outcome.contents, &outcome.session.findings)))
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
    let (episodes, frames) = (count(written.episodes, "episode"), count(written.frames, "frame"));
    let tables = count(tables, "table");
    Ok(vec![
        format!("wrote {episodes} ({frames}) to {tables} in {dir}"),
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

impl From<StoreError> for CliError {
    fn from(error: StoreError) -> Self {
        let text = error.to_string();
        let (what, hint) = text.split_once("; ").unwrap_or((&text, ""));
        let made = match error {
            StoreError::NoColumn(_) => Self::internal(what),
            _ => Self::input(what),
        };
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
