//! What each check needs of the action.

use crate::model::Relation;

/// What a check needs, by its id.
pub(super) fn needs(id: &str) -> Relation {
    match id {
        "action-kind" => Relation::Action,
        "leader-stick-slip" | "hidden-drops" | "overspeed" => Relation::Path,
        "frozen-leader" | "action-steps" => Relation::Steps,
        "dead-joint" | "frozen-follower" | "limit-cycle" | "joint-swap" | "sign-flip"
        | "tracking-lag" | "tracking-loss" | "external-disturbance" => Relation::Motion,
        "limit-dwell" | "leader-overreach" | "arm-swap" | "unit-mismatch"
        | "two-arm-consistency" | "tracking-error" | "lag-variation" | "neutral-offset"
        | "gain-mismatch" | "backlash" | "gravity-sag" | "grasp" | "missing-grasp"
        | "action-consistency" => Relation::Target,
        _ => Relation::Nothing,
    }
}
