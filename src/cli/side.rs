//! One side of a comparison: from a dataset, measured now, or from a scorecard of it.

use std::num::NonZero;
use std::sync::Arc;

use teleassay::compare::Side;
use teleassay::model::{Outcome, Progress, Rig, Unread};
use teleassay::source::{Input, Role, RoleChoice};
use teleassay::store::is_scorecard;

use super::audit::{measure, measured};
use super::error::CliError;
use super::progress::Bar;
use super::settings::DataSettings;

/// A side with what is told of its files.
pub struct Loaded {
    pub side: Side,
    pub inputs: Vec<Input>,
    pub unread: Vec<Unread>,
    pub roles: Vec<RoleChoice>,
    /// Whether it was read from a scorecard.
    pub stored: bool,
}

/// Loads one side. Of a scorecard the profile says only what is left out: the rest acts when data is
/// measured.
pub fn load(
    data: &DataSettings,
    threads: Option<NonZero<usize>>,
    quiet: bool,
) -> Result<Loaded, CliError> {
    let bar = Bar::new(quiet);
    let mut progress = |progress: &Progress| bar.show(progress);
    let path = data.paths.first();
    let name = path.map(|path| path.display().to_string()).unwrap_or_default();
    if let Some(path) = path.filter(|path| is_scorecard(path)) {
        let read = measured(path, &data.profile, threads, &mut progress);
        bar.clear();
        let (stored, outcome) = read?;
        if outcome.session.episodes == 0 {
            return Err(CliError::nothing(format!("{name} holds no episode")));
        }
        let of = (stored.rig(), stored.roles(), stored.inputs());
        return Ok(Loaded { stored: true, ..loaded(name, of, outcome) });
    }
    let read = measure(data, threads, &mut progress);
    bar.clear();
    let (source, outcome) = read?;
    if outcome.session.episodes == 0 {
        return Err(super::command::audit::nothing(&outcome));
    }
    Ok(loaded(name, (source.rig(), source.roles(), source.inputs()), outcome))
}

fn loaded(
    name: String,
    (rig, roles, inputs): (&Arc<Rig>, &[RoleChoice], &[Input]),
    outcome: Outcome,
) -> Loaded {
    let action = roles.iter().find(|role| role.role == Role::Action);
    let side = Side {
        name,
        rig: Arc::clone(rig),
        episodes: outcome.cards.into_iter().map(|card| card.key.id).collect(),
        ledger: outcome.ledger,
        leader: action.is_some_and(|role| !role.columns.is_empty()),
    };
    Loaded {
        side,
        inputs: inputs.to_vec(),
        unread: outcome.unread,
        roles: roles.to_vec(),
        stored: false,
    }
}
