//! `compare`: recording sessions, each measured now or read from a measurements file. Each is compared
//! with the first.

use std::io::{self, Write};
use std::num::NonZero;
use std::path::PathBuf;
use std::sync::Arc;

use super::data::{Data, not_empty};
use super::spare::spare;
use super::{AppError, DataRequest, Stated, checks};
use crate::compare::{self, Comparison, CourseLine, Side, Undecided};
use crate::engine::{self, Workers};
use crate::model::{Outcome, Progress, Rig, Severity, Unread};
use crate::report::{self, Compared, ComparedSide, Courses};
use crate::source::{Input, Role, RoleChoice, Source as _};
use crate::store::{self, is_measurements};

/// Which sessions to compare.
#[derive(Debug, Clone, Default)]
pub struct CompareRequest {
    /// The session to compare with: its first path is a dataset or a measurements file.
    pub a: DataRequest,
    /// The session that is compared, likewise.
    pub b: DataRequest,
    /// More sessions in their order, likewise: each is compared with the first.
    pub more: Vec<DataRequest>,
    /// Number of threads; by default one per core.
    pub threads: Option<NonZero<usize>>,
    /// Files that the caller will write: refused if one of them is read.
    pub writes: Vec<PathBuf>,
}

impl CompareRequest {
    /// All sessions in their order.
    fn sides(&self) -> impl Iterator<Item = &DataRequest> {
        [&self.a, &self.b].into_iter().chain(&self.more)
    }
}

/// Compares sessions with the first of them, aspect by aspect.
///
/// # Errors
/// If one of them cannot be read or holds no episode.
pub fn compare(
    request: &CompareRequest,
    progress: &mut dyn FnMut(&Progress),
) -> Result<ComparedSessions, AppError> {
    let all: Vec<&DataRequest> = request.sides().collect();
    let many = all.len() > 2;
    // Of two it is plain which is meant; of many the error says it.
    let named = |at: usize, error: AppError| {
        if many { error.of(&format!("session {}, {}", at + 1, name(all[at]))) } else { error }
    };
    let mut known = Vec::with_capacity(all.len());
    for (at, of) in all.iter().enumerate() {
        known.push(Data::new(of).map_err(|error| named(at, error))?);
    }
    measures_what_is_stated(&all)?;
    let workers = Workers::start(request.threads.map(NonZero::get))?;
    let mut sides: Vec<LoadedSide> = Vec::with_capacity(all.len());
    let mut pairs = Vec::with_capacity(all.len());
    for (at, (data, of)) in known.iter().zip(&all).enumerate() {
        let mut loaded = load(data, of, &workers, progress).map_err(|error| named(at, error))?;
        let others = [data.files.clone(), of.paths.clone()].concat();
        spare(&request.writes, &loaded.inputs, &others)?;
        if let Some(first) = sides.first() {
            pairs.push(Undecided::of(&first.side, &loaded.side));
            // What was measured on it is in the pair: memory is that of two sessions.
            loaded.side.ledger = loaded.side.ledger.bare();
        }
        sides.push(loaded);
    }
    let names = sides.iter().skip(1).map(|of| of.side.episodes.as_slice());
    let pairs = pairs.into_iter().zip(names).collect();
    let comparisons = compare::decide_together(&sides[0].side, pairs);
    let course = compare::course(&comparisons);
    Ok(ComparedSessions { sides, comparisons, course })
}

/// Refuses a rate, columns and a unit where nothing is measured that they could act on.
fn measures_what_is_stated(sides: &[&DataRequest]) -> Result<(), AppError> {
    let stored = |side: &&DataRequest| side.paths.first().is_some_and(|path| is_measurements(path));
    let stated = |side: &&DataRequest| side.rate_hz.is_some() || side.stated != Stated::default();
    if sides.iter().all(stored) && sides.iter().any(stated) {
        let stored = if sides.len() == 2 { "both sides are" } else { "all sessions are" };
        let what =
            format!("a rate, columns and a unit act when data is measured, and {stored} stored");
        return Err(AppError::input(what).with_hint("leave these options out"));
    }
    Ok(())
}

/// Sessions and what became of comparing each with the first.
pub struct ComparedSessions {
    sides: Vec<LoadedSide>,
    comparisons: Vec<Comparison>,
    course: Vec<CourseLine>,
}

impl ComparedSessions {
    /// Writes the comparison as JSON: the document that `compare --out-json` writes.
    ///
    /// # Errors
    /// If the output cannot be written.
    pub fn write_json(&self, out: &mut dyn Write) -> io::Result<()> {
        let view = self.view(&[], 80);
        match view.pairs.as_slice() {
            [pair] => report::comparison_json(pair, out),
            _ => report::course_json(&view, out),
        }
    }

    /// The worst difference of all.
    pub(crate) fn worst(&self) -> Option<Severity> {
        self.comparisons.iter().filter_map(Comparison::worst).max()
    }

    /// Whether every file of every session was read.
    pub(crate) fn all_read(&self) -> bool {
        self.sides.iter().all(|of| of.unread.is_empty())
    }

    /// What renderers look at. `commands` are those that give this and each of its pairs alone, as they
    /// can be pasted.
    pub(crate) fn view<'a>(&'a self, commands: &'a [String], width: usize) -> Courses<'a> {
        let command = |at: usize| commands.get(at).map_or("", String::as_str);
        let a = self.sides[0].view();
        let others = self.sides.iter().skip(1).zip(&self.comparisons).enumerate();
        let pairs = others.map(|(at, (b, comparison))| Compared {
            comparison,
            a,
            b: b.view(),
            command: command(at + 1),
            width,
        });
        Courses { pairs: pairs.collect(), lines: &self.course, command: command(0), width }
    }
}

/// A side with what is reported of its files.
struct LoadedSide {
    side: Side,
    inputs: Vec<Input>,
    unread: Vec<Unread>,
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
    let name = name(request);
    if let Some(path) = request.paths.first().filter(|path| is_measurements(path)) {
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

/// What a person calls it.
fn name(request: &DataRequest) -> String {
    request.paths.first().map(|path| path.display().to_string()).unwrap_or_default()
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
