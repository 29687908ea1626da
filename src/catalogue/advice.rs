//! What a check may advise for data that was recorded already: only what is exact.

use super::specs;

/// Beginnings of what changes no measured state, or restores one exactly: rows written twice, a
/// stored number decoded again, whole turns, units, an exchange by name, a cut, a
/// declaration, a pace of the stamps. Both quaternions of a pair are the same rotation.
const EXACT: &[&str] = &[
    "as it is",
    "drop the rows that were written twice",
    "decode the stored numbers again",
    "change the sign of each quaternion to that of the row before it",
    "replace the stamps by an even pace",
    "add or take whole turns",
    "convert the column by this ratio",
    "exchange leader and follower by the names of their columns",
    "exchange the two columns, if both sides name their joints",
    "cut the episode in two",
    "declare the true rate",
    "trim head and tail",
    "declare the joint with parked = true",
    "leave the dimension out of training",
];

#[test]
fn what_is_recorded_is_only_ever_changed_exactly() {
    let ways = || specs().flat_map(|c| c.metrics.iter().filter_map(|m| Some((c.id, m.recovery?))));
    assert!(ways().count() >= EXACT.len());
    for (check, way) in ways() {
        assert!(EXACT.iter().any(|exact| way.starts_with(exact)), "{check}: {way}");
    }
    for exact in EXACT {
        assert!(ways().any(|(_, way)| way.starts_with(exact)), "nobody advises: {exact}");
    }
}

/// A lag or a gain is of the joint and its drive, whatever that is: a check that reads positions
/// alone has not seen a servo.
#[test]
fn no_servo_is_blamed_for_how_positions_follow() {
    let of = ["tracking-lag", "lag-variation", "tracking-error", "neutral-offset", "gain-mismatch"];
    let of = of.iter().chain(&["gravity-sag", "backlash", "grasp"]);
    for id in of {
        let spec = specs().find(|spec| spec.id == *id);
        let said = spec.map_or("", |spec| spec.cause);
        assert!(!said.is_empty() && !said.contains("servo"), "{id}: {said}");
    }
}

/// Offset, gain, sign and lag are of how two columns relate: neither is edited, and what a policy can do
/// with them is said.
#[test]
fn no_measured_state_is_edited_on_the_evidence_of_one_session() {
    let related = ["neutral-offset", "gain-mismatch", "sign-flip", "tracking-lag"];
    for id in related {
        let spec = specs().find(|spec| spec.id == id);
        let ways: Vec<&str> =
            spec.iter().flat_map(|spec| spec.metrics.iter().filter_map(|m| m.recovery)).collect();
        assert!(!ways.is_empty(), "{id} says nothing of what is recorded");
        assert!(ways.iter().all(|way| way.starts_with("as it is")), "{id}: {ways:?}");
    }
}
