//! `[action]`: what the actions are, in relation to the state.

use toml::Spanned;

use super::error::ProfileError;
use super::place::Place;
use super::suggest::hint;
use crate::model::ActionKind;

/// The declared kind.
pub(super) fn kind(typed: &Spanned<String>, place: &Place<'_>) -> Result<ActionKind, ProfileError> {
    let word = typed.get_ref().as_str();
    ActionKind::NAMED.iter().find(|(name, _)| *name == word).map(|(_, kind)| *kind).ok_or_else(
        || {
            let what = format!("there is no kind of action \"{word}\"");
            place.wrong(typed.span(), what, hint(word, &ActionKind::NAMED.map(|(name, _)| name)))
        },
    )
}

/// A kind as the profile writes it; none for what nobody can declare.
pub(super) fn word(kind: ActionKind) -> Option<&'static str> {
    let same = |named: &ActionKind| std::mem::discriminant(named) == std::mem::discriminant(&kind);
    ActionKind::NAMED.iter().find(|(_, named)| same(named)).map(|(name, _)| *name)
}
