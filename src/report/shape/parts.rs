//! Parts that the session and single episodes share.

use super::values::{finite, joint};
use super::{NotAssessedShape, ReadingShape, SuppressedShape};
use crate::model::{JointId, Reading, Suppressed};
use crate::report::View;

/// Something that could not be assessed; of the session, in how many episodes.
pub(super) fn unassessed(
    view: &View<'_>,
    (check, at): (&str, Option<JointId>),
    reason: &str,
    episodes: Option<u64>,
) -> NotAssessedShape {
    let (check, reason) = (check.to_owned(), reason.to_owned());
    NotAssessedShape { check, joint: joint(view, at), reason, episodes }
}

/// One measurement.
pub(super) fn reading(view: &View<'_>, reading: &Reading) -> ReadingShape {
    ReadingShape {
        check: reading.check.id.to_owned(),
        metric: reading.metric.id.to_owned(),
        joint: joint(view, reading.joint),
        value: finite(reading.value),
        unit: view.unit(reading.metric, reading.joint).to_owned(),
    }
}

/// A finding that another one explains.
pub(super) fn suppressed(view: &View<'_>, one: &Suppressed) -> SuppressedShape {
    SuppressedShape {
        check: one.check.id.to_owned(),
        metric: one.metric.id.to_owned(),
        joint: joint(view, one.joint),
        severity: one.severity,
        value: finite(one.value),
        unit: view.unit(one.metric, one.joint).to_owned(),
        why: one.why.word().to_owned(),
        by: one.by.id.to_owned(),
        by_joint: joint(view, one.by_joint),
    }
}
