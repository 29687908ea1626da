//! Actions that are copies of the state, and so carry no command.
//!
//! A leader is never where the follower is to the last bit. What was made from the state teaches
//! a policy to copy; the force of the grasp, which lies between the two, is gone. What the actions
//! are otherwise (positions, increments, velocities, held, in chunks) is recognised once for the
//! dataset and said of the rig.
//!
//! How: over rows in which the follower moves, up to 512 in each joint, the share in which the
//! action equals the state of the same row to the last bit, and the share in which it equals that
//! of the next row. Then the share that is a copy in another way: of the state of any row from
//! one before to five later, also where its age changes from row to row; rounded, so that never
//! more than half a step of the action's grid is left; or with noise added, so that what is left is
//! white, does not go with the speed and makes the action rougher by just as much.
//! On joints whose action moves less than half as far as the state, in addition, by how
//! much the action's correlation with the change of the state over 0.2 s exceeds that with the
//! state.
//!
//! Traps: slow motion on a coarse sensor makes the two equal now and then, so nearly all moving
//! rows must agree. What a stiff servo leaves between command and state is small too, but goes with
//! the motion, and is no copy. Actions that are the next observations in all of the dataset are reported once,
//! for the session; where they are meant, they are declared: `[action] kind = "next"`. So is a dataset
//! without any action.

use crate::check::prelude::{Check, Params, Study};
use crate::model::{
    ActionKind, Bound, CheckSpec, Family, KnownBy, Limit, Metric, Pool, Sheet, Unit,
};
use crate::num::copies::Copied;

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
/// The measurement `next_fact`: as `next_share`, where all of the dataset is so.
pub static NEXT_FACT: Metric = Metric::of_episode(
    "next_fact",
    Unit::Share,
    "the same, where the actions of the dataset are recognised as the next observations",
)
.pooled(Pool::Fact(Bound::Above(Limit::new(Some(0.99), None))));
/// The measurement `no_action`.
pub static NO_ACTION: Metric =
    Metric::of_episode("no_action", Unit::Ratio, "1 where there is no action at all")
        .pooled(Pool::Fact(Bound::Above(Limit::new(Some(0.5), None))));
/// The measurement `copy_share`.
pub static COPY_SHARE: Metric = Metric::of_episode(
    "copy_share",
    Unit::Share,
    "share of moving rows in which the action is a copy of the state in another way",
)
.above(None, Some(0.99));
/// The measurement `copy_rows`.
pub static COPY_ROWS: Metric =
    Metric::of_episode("copy_rows", Unit::Frames, "by how many rows the copied state is later");
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
    metrics: &[
        &SAME_SHARE,
        &NEXT_SHARE,
        &NEXT_FACT,
        &COPY_SHARE,
        &COPY_ROWS,
        &DELTA_MARGIN,
        &NO_ACTION,
    ],
    params: &[],
};

/// The check; the head of this file is its manual.
pub static CHECK: Check = Check::of_episode(&SPEC, measure).of_storage();

fn measure(study: &Study<'_>, _: &Params, sheet: &mut Sheet) {
    if study.episode.action.is_none() {
        sheet.put(&NO_ACTION, 1.0);
        return sheet.not_assessed("no leader column");
    }
    let Some(kind) = study.kind() else {
        return sheet.not_assessed("the follower hardly moves");
    };
    sheet.put(&SAME_SHARE, kind.same);
    let rounded = kind.copied.filter(|copied| copied.rows == Some(1)).map_or(0.0, |c| c.share);
    let next = kind.next.max(rounded);
    let actions = &study.episode.rig.actions;
    match (actions.kind, &actions.by) {
        (ActionKind::Next, KnownBy::Declared) => {}
        // What all episodes share is no finding of each.
        (ActionKind::Next, _) => sheet.put(&NEXT_FACT, next),
        _ => {
            sheet.put(&NEXT_SHARE, next);
            if next > 0.99 {
                sheet.note("the actions are the states of the next row");
            }
        }
    }
    // The same row and the next, to the last bit, are above.
    let other = kind.copied.filter(|c| c.rows != Some(1) && !(c.rows == Some(0) && c.exact));
    sheet.put(&COPY_SHARE, other.map_or(0.0, |copied| copied.share));
    if let Some(copied) = other {
        sheet.note(words(&copied));
        if let Some(rows) = copied.rows {
            sheet.put(&COPY_ROWS, f64::from(rows));
        }
    }
    sheet.put(&DELTA_MARGIN, kind.delta_margin);
}

/// What was copied.
fn words(copied: &Copied) -> String {
    let row = match copied.rows {
        None => return "the actions are states of changing rows".to_owned(),
        Some(0) => "the same row".to_owned(),
        Some(-1) => "the row before".to_owned(),
        Some(rows) => format!("{rows} rows later"),
    };
    let how = if copied.exact { "" } else { ", rounded or with noise" };
    format!("the actions are the states of {row}{how}")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::testing::{Bench, jitter_s, sway};
    use crate::model::Actions;

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

    /// What passed for a leader: none of these carries a command.
    #[test]
    fn worthless_actions_are_told_whatever_was_done_to_the_copies() {
        for rate_hz in [15.0, 30.0, 50.0, 100.0] {
            let row = move |t: f64| (t * rate_hz).round();
            let at = move |joint: usize, row: f64| f64::from(sway(joint, row / rate_hz) as f32);
            let dice = |joint: usize, row: f64| jitter_s(row as usize * 3 + joint, 1.0);
            let read = |action: Box<dyn Fn(usize, f64) -> f64>| {
                Bench::at(rate_hz)
                    .seconds(16.0)
                    .moved_stamps(|_| 0.0)
                    .leader(move |joint, t| action(joint, row(t)))
                    .follower(move |joint, t| at(joint, row(t)))
                    .measure(&CHECK)
            };
            let noisy = read(Box::new(move |j, r| at(j, r) + 1e-3 * dice(j, r)));
            assert_eq!((noisy.value("copy_share"), noisy.value("copy_rows")), (1.0, 0.0));
            let later = read(Box::new(move |j, r| at(j, r + 2.0)));
            assert_eq!((later.value("copy_share"), later.value("copy_rows")), (1.0, 2.0));
            let rounded = read(Box::new(move |j, r| (at(j, r + 1.0) * 500.0).round() / 500.0));
            assert!(rounded.value("next_share") > 0.99, "{rate_hz} Hz {rounded:?}");
            let old = read(Box::new(move |j, r| at(j, r - f64::from(dice(9, r) > 0.0))));
            assert!(old.value("copy_share") > 0.99 && old.missing("copy_rows"), "{old:?}");
        }
    }

    /// A servo so stiff that its state is nearly its command, at lags of whole and of broken frames.
    #[test]
    fn a_stiff_rig_carries_commands() {
        let count = std::f64::consts::TAU / 4096.0;
        for rate_hz in [10.0, 30.0, 50.0, 100.0] {
            for frames_late in [0.0, 0.4, 1.0, 2.0] {
                for grid in [0.0, count, 0.1 * count] {
                    let seen = move |v: f64| if grid > 0.0 { (v / grid).round() * grid } else { v };
                    let late_s = frames_late / rate_hz;
                    let servo = move |joint: usize, t: f64| {
                        let speed = (sway(joint, t) - sway(joint, t - 1e-3)) * 1e3;
                        // 6 ms of the servo, and a tenth of a degree of friction.
                        sway(joint, t) - 0.006 * speed - 0.0017 * speed.signum()
                    };
                    let bench = Bench::at(rate_hz)
                        .seconds(16.0)
                        .moved_stamps(|_| 0.0)
                        .leader(move |joint, t| seen(sway(joint, t)))
                        .follower(move |joint, t| seen(servo(joint, t - late_s)));
                    let read = bench.measure(&CHECK);
                    let what = format!("{rate_hz} Hz, {frames_late} frames, {grid}: {read:?}");
                    assert_eq!(read.value("copy_share"), 0.0, "{what}");
                    assert!(read.value("next_share") < 0.5, "{what}");
                    assert!(read.value("same_share") < 0.5, "{what}");
                }
            }
        }
    }

    #[test]
    fn next_observations_that_are_declared_are_no_finding() {
        let bench = Bench::at(30.0).rig(|rig| {
            rig.actions = Actions { kind: ActionKind::Next, by: KnownBy::Declared };
        });
        let read = bench.measure(&CHECK);
        assert!(read.missing("next_share") && read.missing("next_fact"), "{read:?}");
    }

    #[test]
    fn next_observations_in_all_of_the_dataset_are_no_finding_of_an_episode() {
        let bench = Bench::at(30.0).moved_stamps(|_| 0.0).rig(|rig| {
            rig.actions =
                Actions { kind: ActionKind::Next, by: KnownBy::Recognised(String::new()) };
        });
        let row = |t: f64| (t * 30.0).round();
        let bench = bench
            .leader(move |joint, t| sway(joint, (row(t) + 1.0) / 30.0))
            .follower(move |joint, t| sway(joint, row(t) / 30.0));
        let read = bench.measure(&CHECK);
        assert!(read.missing("next_share") && read.value("next_fact") > 0.99, "{read:?}");
    }
}
