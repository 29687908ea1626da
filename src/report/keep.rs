//! The keep list: what may be trained on.

use std::io::{self, Write};

use crate::model::{CardPlace, Outcome, Verdict};

/// Writes the ids of the episodes that neither failed nor lie in a failure of the session, one a
/// line, in the order of the dataset.
///
/// # Errors
/// If the output cannot be written.
pub fn keep_list(outcome: &Outcome, out: &mut dyn Write) -> io::Result<()> {
    let barred = |place: CardPlace| outcome.session.findings.iter().any(|f| f.bars(place));
    let cards = CardPlace::all(outcome.cards.len()).zip(&outcome.cards);
    let kept = cards.filter(|(place, card)| card.verdict != Verdict::Fail && !barred(*place));
    kept.map(|(_, card)| &card.key.id).try_for_each(|id| writeln!(out, "{id}"))
}
