//! From what was required to its machine-readable shape.

use super::{AssessedShape, RequiredShape};
use crate::model::Required;

impl RequiredShape {
    /// What had to be looked at, and what was.
    pub fn of(required: &Required) -> Self {
        let checks = required.checks.iter().map(|one| AssessedShape {
            check: one.check.id.to_owned(),
            episodes: one.episodes,
            of: one.of,
            reason: (one.episodes < one.of).then(|| one.why()),
        });
        Self {
            met: required.missing.is_empty(),
            missing: required.missing.clone(),
            min_assessed: required.min_share,
            assessed: required.share(),
            checks: checks.collect(),
        }
    }
}
