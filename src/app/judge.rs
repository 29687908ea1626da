//! `judge`: hold measurements files against limits again.

use std::io::{self, Write};
use std::num::NonZero;
use std::path::PathBuf;

use chrono::NaiveDate;

use super::data::profile;
use super::spare::spare;
use super::{AppError, Choice, Requires, baseline, checks, required};
use crate::engine::{self, Plan, Workers};
use crate::judge::{Digest, Requirement, accept};
use crate::model::{CheckSpec, Outcome, Progress, Rig, Verdict};
use crate::profile::Profile;
use crate::report::{self, JsonDetail, View};
use crate::store::{self, Stored};

/// Which measurements files to judge, and how.
#[derive(Debug, Clone, Default)]
pub struct JudgeRequest {
    /// The measurements files; several are parts of one dataset.
    pub measurements: Vec<PathBuf>,
    /// The profile; by default the nearest `teleassay.toml`.
    pub profile: Option<PathBuf>,
    /// Which checks are judged.
    pub checks: Choice,
    /// Measurements files of an earlier audit: what they hold as well is marked as known.
    pub baseline: Vec<PathBuf>,
    /// What must have been looked at.
    pub requires: Requires,
    /// The day on which it is judged: what a profile accepts until a day before it no longer holds.
    pub today: Option<NaiveDate>,
    /// Whether every episode keeps its measurements, and not its findings alone.
    pub keep_readings: bool,
    /// Whether sketches of the motions are read even if no check needs them.
    pub sketch_motions: bool,
    /// Number of threads; by default one per core.
    pub threads: Option<NonZero<usize>>,
    /// Files that the caller will write: refused if one of them is read.
    pub writes: Vec<PathBuf>,
}

/// Judges measurements files.
///
/// # Errors
/// If a measurements file cannot be read, holds no episode, or the request does not fit it.
pub fn judge(
    request: &JudgeRequest,
    progress: &mut dyn FnMut(&Progress),
) -> Result<Judged, AppError> {
    let first = request.measurements.first().map(PathBuf::as_path);
    let (profile, found) = profile(request.profile.as_deref(), first)?;
    let checks = request.checks.under(&profile)?;
    let workers = Workers::start(request.threads.map(NonZero::get))?;
    let mut plan = checks::plan(&profile, &checks);
    plan.keep_readings = request.keep_readings;
    let requirement = request.requires.resolved()?;
    required::run_all(&requirement, &mut plan);
    plan.sketch |= request.sketch_motions;
    let stored = store::read(&request.measurements)?;
    let read = request.measurements.iter().chain(&found).chain(&request.baseline);
    spare(&request.writes, stored.inputs(), &read.cloned().collect::<Vec<_>>())?;
    let baseline = baseline::open(&request.baseline, stored.rig())?;
    let (requires, today) = (&request.requires, request.today);
    let how = Judging { plan, checks, baseline, requires, requirement, today };
    judged(stored, profile, how, &workers, progress)
}

/// How measurements files are judged.
pub(super) struct Judging<'a> {
    pub plan: Plan,
    pub checks: Vec<&'static CheckSpec>,
    pub baseline: Option<Stored>,
    pub requires: &'a Requires,
    pub requirement: Requirement,
    pub today: Option<NaiveDate>,
}

/// Judges measurements files that are open.
pub(super) fn judged(
    stored: Stored,
    mut profile: Profile,
    how: Judging<'_>,
    workers: &Workers,
    progress: &mut dyn FnMut(&Progress),
) -> Result<Judged, AppError> {
    let Judging { plan, checks, baseline, requires, requirement, today } = how;
    let mut outcome = engine::rejudge(&stored, &plan, workers, progress)?;
    accept(&mut outcome, stored.rig(), &profile.accepted, today);
    baseline::mark(&mut outcome, baseline.as_ref(), &plan, workers)?;
    if outcome.session.episodes == 0 {
        return Err(AppError::nothing("the measurements file holds no episode"));
    }
    requires.enter(&requirement, &mut outcome, &checks);
    let rig = rig_as_measured(&stored, &profile, &checks);
    profile.limits = profile.limits.of_rig(stored.rig());
    let digest = Digest::of(&outcome, &profile.limits, &checks);
    Ok(Judged { stored, rig, outcome, digest, profile, checks })
}

/// The rig of measurements files, with a notice where the profile asks for other parameters than
/// those that were measured with.
fn rig_as_measured(stored: &Stored, profile: &Profile, checks: &[&'static CheckSpec]) -> Rig {
    let mut rig = Rig::clone(stored.rig());
    let mut differ = Vec::new();
    for check in checks {
        let Some(measured) = stored.parameters().get(check.id) else { continue };
        for param in check.params {
            let asked = profile.params.get(check, param);
            if let Some(had) = measured.get(param.id).filter(|had| **had != asked) {
                differ.push(format!("{} {} = {had}, not {asked}", check.id, param.id));
            }
        }
    }
    if !differ.is_empty() {
        rig.notices.push(format!(
            "measured with {}: parameters act when data is measured, so audit again to change them",
            differ.join(", ")
        ));
    }
    rig
}

/// Judged measurements files.
#[derive(Debug)]
pub struct Judged {
    pub(crate) stored: Stored,
    rig: Rig,
    pub(crate) outcome: Outcome,
    digest: Digest,
    profile: Profile,
    checks: Vec<&'static CheckSpec>,
}

impl Judged {
    /// The verdict on the session.
    pub fn verdict(&self) -> Verdict {
        self.outcome.session.verdict
    }

    /// Every episode's id and verdict, in the order of the dataset.
    pub fn episodes(&self) -> impl Iterator<Item = (&str, Verdict)> {
        self.outcome.cards.iter().map(|card| (card.key.id.as_str(), card.verdict))
    }

    /// Writes the report as JSON: the document that `judge --out-json` writes. For full detail the
    /// request must ask to keep readings.
    ///
    /// # Errors
    /// If the output cannot be written.
    pub fn write_json(&self, detail: JsonDetail, out: &mut dyn Write) -> io::Result<()> {
        report::json(&self.view("", None, 80), None, detail, out)
    }

    /// What renderers look at. `command` is what gave this outcome, as it can be pasted; `trace`
    /// what draws an episode of it, where the data is at hand.
    pub(crate) fn view<'a>(
        &'a self,
        command: &'a str,
        trace: Option<&'a str>,
        width: usize,
    ) -> View<'a> {
        View {
            outcome: &self.outcome,
            digest: &self.digest,
            rig: &self.rig,
            roles: self.stored.roles(),
            inputs: self.stored.inputs(),
            limits: &self.profile.limits,
            checks: &self.checks,
            command,
            trace,
            keep: None,
            width,
        }
    }
}
