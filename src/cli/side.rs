//! One side of a comparison: from a dataset, measured now.

use std::num::NonZero;

use teleassay::compare::Side;
use teleassay::model::Unread;
use teleassay::source::Input;

use super::audit::measure;
use super::error::CliError;
use super::progress::Bar;
use super::settings::DataSettings;

/// A side with what is told of its files.
pub struct Loaded {
    pub side: Side,
    pub inputs: Vec<Input>,
    pub unread: Vec<Unread>,
}

/// Loads one side. A stored scorecard has its place here, beside a dataset: it holds a rig and a
/// ledger too.
pub fn load(
    data: &DataSettings,
    threads: Option<NonZero<usize>>,
    quiet: bool,
) -> Result<Loaded, CliError> {
    let bar = Bar::new(quiet);
    let measured = measure(data, threads, &mut |progress| bar.show(progress));
    bar.clear();
    let (source, outcome) = measured?;
    if outcome.session.episodes == 0 {
        return Err(super::command::audit::nothing(&outcome));
    }
    let action = source.roles().iter().find(|role| role.role == "action");
    let name = data.paths.first().map(|path| path.display().to_string()).unwrap_or_default();
    Ok(Loaded {
        side: Side {
            name,
            rig: source.rig().clone(),
            episodes: outcome.cards.into_iter().map(|card| card.key.id).collect(),
            ledger: outcome.ledger,
            leader: action.is_some_and(|role| !role.columns.is_empty()),
        },
        inputs: source.inputs().to_vec(),
        unread: outcome.unread,
    })
}
