//! Numbers and names as a document holds them.

use crate::model::JointId;
use crate::report::view::View;

/// JSON has no NaN and no infinity; readings are finite by their making, sums of them are not
/// held to it by a type.
pub(super) fn finite(value: f64) -> f64 {
    if value.is_finite() { value } else { 0.0 }
}

/// A joint's name.
pub(super) fn joint(view: &View<'_>, joint: Option<JointId>) -> Option<String> {
    joint.map(|j| view.rig.joint_name(j).to_owned())
}
