//! What the person says of the kinds of dimensions.

use crate::model::{RotationForm, SignalKind};

/// One side's dimensions as declared.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct DeclaredSignals {
    /// Kinds by the names of dimensions.
    pub kinds: Vec<(String, SignalKind)>,
    /// Names of the numbers that store a rotation together, in the order of the form.
    pub rotations: Vec<(RotationForm, Vec<String>)>,
    /// Names of the coordinates of places.
    pub places: Vec<Vec<String>>,
}

impl DeclaredSignals {
    /// Whether nothing is declared.
    pub fn is_empty(&self) -> bool {
        *self == Self::default()
    }

    /// The declared kind of a dimension.
    pub(in crate::source) fn kind(&self, name: &str) -> Option<SignalKind> {
        let place = self.places.iter().flatten().find(|known| *known == name);
        let own = self.kinds.iter().find(|(known, _)| known == name).map(|(_, kind)| *kind);
        own.or(place.map(|_| SignalKind::Position))
    }
}
