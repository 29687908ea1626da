//! The keep list: what may be trained on.

use std::io::{self, Write};

use crate::model::{Outcome, Verdict};

/// Writes the ids of the episodes that did not fail, one a line, in the order of the dataset.
///
/// # Errors
/// If the output cannot be written.
pub fn keep_list(outcome: &Outcome, out: &mut dyn Write) -> io::Result<()> {
    let kept = outcome.cards.iter().filter(|card| card.verdict != Verdict::Fail);
    kept.map(|card| &card.key.id).try_for_each(|id| writeln!(out, "{id}"))
}
