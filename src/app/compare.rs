//! `compare`: two recording sessions, each measured now or read from a measurements file.

use std::io::{self, Write};
use std::num::NonZero;
use std::path::PathBuf;
use std::sync::Arc;

use super::data::{Data, not_empty};
use super::spare::spare;
use super::{AppError, DataRequest, Stated, checks};
use crate::compare::{self, Comparison, Side};
use crate::engine::{self, Workers};
use crate::model::{Outcome, Progress, Rig, Unread};
use crate::report::{self, Compared, ComparedSide};
use crate::source::{Input, Role, RoleChoice, Source as _};
use crate::store::{self, is_measurements};

/// Which sessions to compare.
#[derive(Debug, Clone, Default)]
pub struct CompareRequest {
    /// The session to compare with: its first path is a dataset or a measurements file.
    pub a: DataRequest,
    /// The session that is compared, likewise.
    pub b: DataRequest,
    /// Number of threads; by default one per core.
    pub threads: Option<NonZero<usize>>,
    /// Files that the caller will write: refused if one of them is read.
    pub writes: Vec<PathBuf>,
}

/// Compares two sessions, aspect by aspect.
///
/// # Errors
/// If one of them cannot be read or holds no episode.
pub fn compare(
    request: &CompareRequest,
    progress: &mut dyn FnMut(&Progress),
) -> Result<ComparedSessions, AppError> {
    let (a, b) = (Data::new(&request.a)?, Data::new(&request.b)?);
    measures_what_is_stated(request)?;
    let workers = Workers::start(request.threads.map(NonZero::get))?;
    let mut side = |data: &Data, of: &DataRequest| -> Result<LoadedSide, AppError> {
        let loaded = load(data, of, &workers, progress)?;
        let others = [data.files.clone(), of.paths.clone()].concat();
        spare(&request.writes, &loaded.inputs, &others)?;
        Ok(loaded)
    };
    let (a, b) = (side(&a, &request.a)?, side(&b, &request.b)?);
    let comparison = compare::compare(&a.side, &b.side);
    Ok(ComparedSessions { a, b, comparison })
}

/// Refuses a rate, columns and a unit where nothing is measured that they could act on.
fn measures_what_is_stated(request: &CompareRequest) -> Result<(), AppError> {
    let sides = [&request.a, &request.b];
    let stored = |side: &&DataRequest| side.paths.first().is_some_and(|path| is_measurements(path));
    let stated = |side: &&DataRequest| side.rate_hz.is_some() || side.stated != Stated::default();
    if sides.iter().all(stored) && sides.iter().any(stated) {
        let what =
            "a rate, columns and a unit act when data is measured, and both sides are stored";
        return Err(AppError::input(what).with_hint("leave these options out"));
    }
    Ok(())
}

/// Two sessions and what became of comparing them.
pub struct ComparedSessions {
    pub(crate) a: LoadedSide,
    pub(crate) b: LoadedSide,
    pub(crate) comparison: Comparison,
}

impl ComparedSessions {
    /// Writes the comparison as JSON: the document that `compare --out-json` writes.
    ///
    /// # Errors
    /// If the output cannot be written.
    pub fn write_json(&self, out: &mut dyn Write) -> io::Result<()> {
        report::comparison_json(&self.view("", 80), out)
    }

    /// What renderers look at. `command` is what gave this, as it can be pasted.
    pub(crate) fn view<'a>(&'a self, command: &'a str, width: usize) -> Compared<'a> {
        let (a, b) = (self.a.view(), self.b.view());
        Compared { comparison: &self.comparison, a, b, command, width }
    }
}

/// A side with what is reported of its files.
pub(crate) struct LoadedSide {
    side: Side,
    inputs: Vec<Input>,
    pub(crate) unread: Vec<Unread>,
    roles: Vec<RoleChoice>,
    /// Whether it was read from a measurements file.
    stored: bool,
}

impl LoadedSide {
    /// What renderers look at.
    fn view(&self) -> ComparedSide<'_> {
        ComparedSide {
            side: &self.side,
            inputs: &self.inputs,
            unread: &self.unread,
            roles: &self.roles,
            stored: self.stored,
        }
    }
}

/// Loads one side. Of a measurements file the profile says only what is left out: the rest acts
/// when data is measured.
fn load(
    data: &Data,
    request: &DataRequest,
    workers: &Workers,
    progress: &mut dyn FnMut(&Progress),
) -> Result<LoadedSide, AppError> {
    let plan = checks::plan_to_compare(&data.profile);
    let path = request.paths.first();
    let name = path.map(|path| path.display().to_string()).unwrap_or_default();
    if let Some(path) = path.filter(|path| is_measurements(path)) {
        let stored = store::read(std::slice::from_ref(path))?;
        let outcome = engine::rejudge(&stored, &plan, workers, progress)?;
        if outcome.session.episodes == 0 {
            return Err(AppError::nothing(format!("{name} holds no episode")));
        }
        let of = (stored.rig(), stored.roles(), stored.inputs());
        return Ok(LoadedSide { stored: true, ..loaded(name, of, outcome) });
    }
    let source = data.open(workers)?.reading(&plan.extras());
    let outcome = engine::audit(&source, &plan, workers, progress);
    not_empty(&outcome)?;
    Ok(loaded(name, (source.rig(), source.roles(), source.inputs()), outcome))
}

fn loaded(
    name: String,
    (rig, roles, inputs): (&Arc<Rig>, &[RoleChoice], &[Input]),
    outcome: Outcome,
) -> LoadedSide {
    let action = roles.iter().find(|role| role.role == Role::Action);
    let side = Side {
        name,
        rig: Arc::clone(rig),
        episodes: outcome.cards.into_iter().map(|card| card.key.id).collect(),
        ledger: outcome.ledger,
        leader: action.is_some_and(|role| !role.columns.is_empty()),
    };
    LoadedSide {
        side,
        inputs: inputs.to_vec(),
        unread: outcome.unread,
        roles: roles.to_vec(),
        stored: false,
    }
}
