//! An action that is no leader's position: a change of position, the state of the next row, or
//! the state itself.
//!
//! A leader is never where the follower is to the last bit. What was made from the state teaches
//! a policy to copy; the force of the grasp, which lies between the two, is gone.
//!
//! How: over rows in which the follower moves, up to 512 in each joint, the share in which the
//! action equals the state of the same row to the last bit, and the share in which it equals that
//! of the next row. And on joints whose action moves less than half as far as the state: by how
//! much the action's correlation with the change of the state over 0.2 s exceeds that with the
//! state. Above 0.3 it is a change, and nothing can be said of tracking.
//!
//! Traps: slow motion on a coarse sensor makes the two equal now and then, so nearly all moving
//! rows must agree. One joint in another unit is no change of position: half of the joints must
//! agree on it.

use crate::check::prelude::{Check, Params, Study};
use crate::model::{CheckSpec, Family, Metric, Sheet, Unit};

/// The measurement `same_share`.
pub static SAME_SHARE: Metric = Metric::of_episode(
    "same_share",
    Unit::Share,
    "share of moving rows in which the action is the state of the same row",
)
.above(None, Some(0.99));
/// The measurement `next_share`.
pub static NEXT_SHARE: Metric = Metric::of_episode(
    "next_share",
    Unit::Share,
    "share of moving rows in which the action is the state of the next row",
)
.above(Some(0.99), None);
/// The measurement `delta_margin`.
pub static DELTA_MARGIN: Metric = Metric::of_episode(
    "delta_margin",
    Unit::Ratio,
    "correlation with the state's change less that with the state",
);

static SPEC: CheckSpec = CheckSpec {
    id: "action-kind",
    family: Family::Mapping,
    applies_to: crate::model::SignalKind::MOVING,
    needs: crate::model::Relation::Action,
    advisory: false,
    source: include_str!("action_kind.rs"),
    cause: "the action was made from the follower's own readings",
    remedy: "record the leader's readings, or the commands that were sent",
    reference: "common practice, no source",
    metrics: &[&SAME_SHARE, &NEXT_SHARE, &DELTA_MARGIN],
    params: &[],
};

/// The check; the head of this file is its manual.
pub static CHECK: Check = Check::of_episode(&SPEC, measure);

fn measure(study: &Study<'_>, _: &Params, sheet: &mut Sheet) {
    if study.episode.action.is_none() {
        return sheet.not_assessed("no leader column");
    }
    let Some(kind) = study.kind() else {
        return sheet.not_assessed("the follower hardly moves");
    };
    sheet.put(&SAME_SHARE, kind.same);
    sheet.put(&NEXT_SHARE, kind.next);
    sheet.put(&DELTA_MARGIN, kind.delta_margin);
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::testing::{Bench, sway};

    #[test]
    fn copies_of_the_state_are_told_from_a_leader() {
        for rate_hz in [25.0, 50.0, 200.0] {
            let at = || Bench::at(rate_hz).frames(500).moved_stamps(|_| 0.0);
            let same = at().follower(sway).measure(&CHECK);
            assert_eq!(same.value("same_share"), 1.0, "{rate_hz} Hz");
            // Rows are whole, so that the next row's state is this row's action to the last bit.
            let row = move |t: f64| (t * rate_hz).round();
            let next = at()
                .leader(move |joint, t| sway(joint, (row(t) + 1.0) / rate_hz))
                .follower(move |joint, t| sway(joint, row(t) / rate_hz))
                .measure(&CHECK);
            assert_eq!(next.value("next_share"), 1.0, "{rate_hz} Hz");
            assert!(next.value("same_share") < 0.05);
            let leader = at().measure(&CHECK);
            assert!(leader.value("same_share") < 0.05 && leader.value("next_share") < 0.05);
            assert_eq!(leader.value("delta_margin"), 0.0);
        }
    }

    #[test]
    fn a_change_of_position_is_told_and_tracking_left_alone() {
        let speed = |joint: usize, t: f64| (sway(joint, t + 0.01) - sway(joint, t - 0.01)) * 0.5;
        let bench = || Bench::at(50.0).frames(600).leader(speed).follower(|j, t| sway(j, t - 0.08));
        assert!(bench().measure(&CHECK).value("delta_margin") > 0.5);
        let lag = bench().measure(&crate::check::tracking::tracking_lag::CHECK);
        assert!(lag.is_not_assessed("change of position"), "{lag:?}");
    }
}
