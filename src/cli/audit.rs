//! The seam: the one place where the command line meets source, engine and demo.

use teleassay::model::{CheckSpec, Outcome, Progress};
use teleassay::source::Source;

use super::error::CliError;
use super::settings::{AuditSettings, DataSettings, DemoSettings};

/// Every check that exists, in the order in which a person reads them.
pub fn checks() -> Vec<&'static CheckSpec> {
    // SEAM: followed by the specs of the cohort registry.
    teleassay::check::CHECKS.iter().map(|check| check.spec()).collect()
}

/// Opens a dataset: finds its tables and decides the roles.
pub fn open_source(settings: &DataSettings) -> Result<Box<dyn Source>, CliError> {
    // SEAM: source::Dataset::open(&settings.paths, &settings.profile.declared).
    missing(settings)?;
    Err(CliError::internal("reading is not wired"))
}

/// Opens a dataset and audits it.
pub fn run_audit(
    settings: &AuditSettings,
    progress: &mut dyn FnMut(&Progress),
) -> Result<(Box<dyn Source>, Outcome), CliError> {
    let source = open_source(&settings.data)?;
    // SEAM: engine::run(source, limits, params, settings.skip, settings.threads, progress).
    progress(&Progress { total_episodes: source.episodes(), ..Progress::default() });
    Err(CliError::internal("the audit is not wired"))
}

/// Writes the demonstration dataset; returns what to tell the person, line by line.
pub fn write_demo(settings: &DemoSettings) -> Result<Vec<String>, CliError> {
    // SEAM: demo::write(...), with the profile written beside the data.
    let DemoSettings { dir, episodes, rate_hz, seed, layout } = settings;
    Err(CliError::internal(format!(
        "{}: {episodes} episodes at {rate_hz} Hz, seed {seed}, {layout:?}: not wired",
        dir.display()
    )))
}

/// A path that is not there deserves its own words; a glob is left to the source.
fn missing(settings: &DataSettings) -> Result<(), CliError> {
    let is_glob = |path: &str| path.contains(['*', '?', '[']);
    for path in &settings.paths {
        if !path.exists() && !is_glob(&path.to_string_lossy()) {
            return Err(CliError::input(format!("{} does not exist", path.display()))
                .with_hint("name a Parquet or Arrow IPC file, a folder of them, or a glob"));
        }
    }
    Ok(())
}
