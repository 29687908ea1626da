//! `audit`: measure and judge every episode of a dataset.

use std::io::{self, Write};
use std::num::NonZero;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use chrono::NaiveDate;

use super::data::{Data, not_empty};
use super::interrupted::UntilStopped;
use super::spare::spare;
use super::{AppError, Choice, DataRequest, Requires, baseline, checks, required};
use crate::engine::{self, Plan, Workers};
use crate::judge::{Digest, Requirement, accept};
use crate::model::{CheckSpec, Outcome, Progress, Rig, Verdict};
use crate::profile::Profile;
use crate::report::{self, JsonDetail, View};
use crate::source::{Dataset, Source as _};
use crate::store::{About, Stored, Writer};

/// What to audit, and how.
#[derive(Debug, Clone, Default)]
pub struct AuditRequest {
    /// The dataset.
    pub data: DataRequest,
    /// Which checks run.
    pub checks: Choice,
    /// Measurements files of an earlier audit: what they hold as well is marked as known.
    pub baseline: Vec<PathBuf>,
    /// What must have been looked at.
    pub requires: Requires,
    /// The day on which it is judged: what a profile accepts until a day before it no longer holds.
    pub today: Option<NaiveDate>,
    /// Whether the SHA-256 of every input is computed.
    pub hash_inputs: bool,
    /// Whether every episode keeps its measurements, and not its findings alone.
    pub keep_readings: bool,
    /// Whether each motion is sketched even if no check needs that.
    pub sketch_motions: bool,
    /// Number of threads; by default one per core.
    pub threads: Option<NonZero<usize>>,
    /// Files that the caller will write: refused if one of them is read.
    pub writes: Vec<PathBuf>,
}

/// Audits a dataset.
///
/// # Errors
/// If there is no dataset, no episode in it, or the request does not fit it.
pub fn audit(
    request: &AuditRequest,
    progress: &mut dyn FnMut(&Progress),
) -> Result<Audited, AppError> {
    OpenAudit::new(request)?.run(progress)
}

/// A dataset that is open and not yet measured.
pub struct OpenAudit {
    source: Dataset,
    profile: Profile,
    checks: Vec<&'static CheckSpec>,
    plan: Plan,
    baseline: Option<Stored>,
    requires: (Requires, Requirement),
    profile_path: Option<PathBuf>,
    workers: Arc<Workers>,
    today: Option<NaiveDate>,
}

impl OpenAudit {
    /// Opens the dataset of a request.
    ///
    /// # Errors
    /// If there is no dataset, or the request does not fit it.
    pub fn new(request: &AuditRequest) -> Result<Self, AppError> {
        let data = Data::new(&request.data)?;
        let checks = request.checks.under(&data.profile)?;
        let workers = Workers::start(request.threads.map(NonZero::get))?;
        let mut plan = checks::plan(&data.profile, &checks);
        plan.keep_readings = request.keep_readings;
        let requirement = request.requires.resolved()?;
        required::run_all(&requirement, &mut plan);
        plan.sketch |= request.sketch_motions || !request.baseline.is_empty();
        let mut source = data.open(&workers)?.reading(&plan.extras());
        if request.hash_inputs {
            source = workers.run(|| source.hashed());
        }
        let others = [data.files, request.baseline.clone()].concat();
        spare(&request.writes, source.inputs(), &others)?;
        let baseline = baseline::open(&request.baseline, source.rig())?;
        let requires = (request.requires.clone(), requirement);
        let (profile, profile_path) = (data.profile, data.profile_path);
        let (workers, today) = (Arc::new(workers), request.today);
        Ok(Self { source, profile, checks, plan, baseline, requires, profile_path, workers, today })
    }

    /// The rig that was surveyed.
    pub(super) fn rig(&self) -> &Rig {
        self.source.rig()
    }

    /// The profile that was found.
    pub(super) fn profile_path(&self) -> Option<&Path> {
        self.profile_path.as_deref()
    }

    /// Its threads, for what comes after the audit.
    pub(super) fn workers(&self) -> Arc<Workers> {
        Arc::clone(&self.workers)
    }

    /// The dataset without anything measured: no episode has a card.
    pub(super) fn unmeasured(self) -> Audited {
        let Self { source, profile, checks, plan, workers, .. } = self;
        let outcome = engine::nothing(&source, &plan, &workers);
        let digest = Digest::of(&outcome, &profile.limits, &checks);
        Audited { source, outcome, digest, profile, checks }
    }

    /// Measures and judges it.
    ///
    /// # Errors
    /// If no episode could be read.
    pub fn run(self, progress: &mut dyn FnMut(&Progress)) -> Result<Audited, AppError> {
        let outcome = engine::audit(&self.source, &self.plan, &self.workers, progress);
        self.audited(outcome)
    }

    /// The same until `stop` says so: what was measured up to then is worth nothing.
    ///
    /// # Errors
    /// If no episode could be read.
    pub(super) fn run_until(
        self,
        stop: &(dyn Fn() -> bool + Sync),
        progress: &mut dyn FnMut(&Progress),
    ) -> Result<Audited, AppError> {
        let source = UntilStopped { source: &self.source, stop };
        let outcome = engine::audit(&source, &self.plan, &self.workers, progress);
        self.audited(outcome)
    }

    /// The same, and writes the measurements file as it goes. Once `stop` says so, nothing more is
    /// read: what was written is then worth nothing.
    ///
    /// # Errors
    /// If no episode could be read or the file could not be written.
    pub fn run_into(
        self,
        out: Box<dyn Write + Send + '_>,
        stop: &(dyn Fn() -> bool + Sync),
        progress: &mut dyn FnMut(&Progress),
    ) -> Result<Audited, AppError> {
        let about = About {
            rig: Arc::clone(self.source.rig()),
            roles: self.source.roles().to_vec(),
            inputs: self.source.inputs().to_vec(),
            skipped: self.source.skipped().clone(),
            roots: self.source.roots().to_vec(),
            checks: self.plan.checks.iter().map(|check| check.spec()).collect(),
            params: self.plan.params.clone(),
        };
        let source = UntilStopped { source: &self.source, stop };
        let writer = Writer::new(out, about)?;
        let outcome = engine::audit_into(writer, &source, &self.plan, &self.workers, progress)?;
        self.audited(outcome)
    }

    fn audited(self, mut outcome: Outcome) -> Result<Audited, AppError> {
        not_empty(&outcome)?;
        accept(&mut outcome, self.source.rig(), &self.profile.accepted, self.today);
        baseline::mark(&mut outcome, self.baseline.as_ref(), &self.plan, &self.workers)?;
        let Self { source, mut profile, checks, requires: (requires, requirement), .. } = self;
        profile.limits = profile.limits.of_rig(source.rig());
        requires.enter(&requirement, &mut outcome, &checks);
        let digest = Digest::of(&outcome, &profile.limits, &checks);
        Ok(Audited { source, outcome, digest, profile, checks })
    }
}

/// An audited dataset.
#[derive(Debug)]
pub struct Audited {
    pub(crate) source: Dataset,
    pub(crate) outcome: Outcome,
    digest: Digest,
    pub(crate) profile: Profile,
    pub(crate) checks: Vec<&'static CheckSpec>,
}

impl Audited {
    /// The verdict on the session.
    pub fn verdict(&self) -> Verdict {
        self.outcome.session.verdict
    }

    /// Every episode's id and verdict, in the order of the dataset.
    pub fn episodes(&self) -> impl Iterator<Item = (&str, Verdict)> {
        self.outcome.cards.iter().map(|card| (card.key.id.as_str(), card.verdict))
    }

    /// Writes the report as JSON: the document that `audit --out-json` writes. For full detail the
    /// request must ask to keep readings.
    ///
    /// # Errors
    /// If the output cannot be written.
    pub fn write_json(&self, detail: JsonDetail, out: &mut dyn Write) -> io::Result<()> {
        report::json(&self.view("", None, None, 80), None, detail, out)
    }

    /// What renderers look at. `command` is what gave this outcome, as it can be pasted; `trace` what
    /// draws an episode of it, `keep` what writes a clean copy.
    pub(crate) fn view<'a>(
        &'a self,
        command: &'a str,
        trace: Option<&'a str>,
        keep: Option<&'a str>,
        width: usize,
    ) -> View<'a> {
        View {
            outcome: &self.outcome,
            digest: &self.digest,
            rig: self.source.rig(),
            roles: self.source.roles(),
            inputs: self.source.inputs(),
            limits: &self.profile.limits,
            checks: &self.checks,
            command,
            trace,
            keep,
            width,
        }
    }
}
