//! Commands that jump: the operator let go and gripped again, or a filter was switched off.
//!
//! A jump in the commands is a motion that no hand made and that the follower cannot make.
//!
//! How: the leader's step from one frame to the next, over the frame periods it spans, of more than
//! 600 degrees a second (1.2 m/s for a linear joint), alone or with one more the same way, and at least
//! twice the steps the same way before and after; as a share of the frames. A hand that goes so fast for
//! longer does not jump: what the joint stands is for overspeed.
//!
//! Traps: where frames are missing a step is larger for it: it is divided by the periods that the
//! clock says it spans; under made stamps see hidden-drops first. Half a turn and more is left to
//! encoder-wrap. Grippers are left out: a trigger may snap. Actions that come in chunks jump from one to
//! the next by nature: not assessed.

use crate::check::prelude::{Check, Params, Study};
use crate::model::{
    ActionKind, CheckSpec, Family, FrameSpan, JointId, Metric, Sheet, SpanList, Unit,
};

const FASTEST_DEG_S: f64 = 600.0;
/// A jump is this many steps at most: a logger may fill one row in between.
const MOST_STEPS: usize = 2;
/// Steps the same way before and after it are this share of it at most.
const STANDS_OUT: f32 = 0.5;

static JUMP_SHARE: Metric = Metric::of_joint(
    "jump_share",
    Unit::Share,
    "share of frames in which the leader moves faster than 600 degrees a second",
)
.above(Some(0.0), Some(0.005));

static SPEC: CheckSpec = CheckSpec {
    id: "action-steps",
    family: Family::Motion,
    applies_to: crate::model::SignalKind::MOVING,
    needs: crate::model::Relation::Steps,
    advisory: true,
    source: include_str!("action_steps.rs"),
    cause: "the operator let go and gripped again, or the commands' filter was off",
    remedy: "hold the leader throughout; filter the commands; look at lost frames first",
    reference: "common practice, no source",
    metrics: &[&JUMP_SHARE],
    params: &[],
};

/// The check; the head of this file is its manual.
pub static CHECK: Check = Check::of_episode(&SPEC, measure);

fn measure(study: &Study<'_>, _: &Params, sheet: &mut Sheet) {
    let Some(period_s) = study.period_s() else { return sheet.not_assessed("no frame period") };
    if study.episode.action.is_none() {
        return sheet.not_assessed("no leader column");
    }
    // What is held between updates goes in one step what it had several frames for.
    let frames = match study.kind_of_action() {
        ActionKind::Held { frames } => f64::from(frames.max(1)),
        ActionKind::Chunked => return sheet.not_assessed("the actions jump from chunk to chunk"),
        _ => 1.0,
    };
    for (joint, described) in study.joints().iter().enumerate() {
        if described.gripper {
            continue;
        }
        let fastest = (study.size(joint, FASTEST_DEG_S) * period_s * frames) as f32;
        let mut found = Vec::new();
        if study.steps().leader.get(joint).is_some_and(|step| *step > fastest) {
            jumps(study, joint, fastest, &mut found);
        }
        let share = found.len() as f64 / study.episode.frames().max(1) as f64;
        sheet.put_spans(&JUMP_SHARE, Some(joint as JointId), share, SpanList::worst(found));
    }
}

fn jumps(study: &Study<'_>, joint: usize, fastest: f32, found: &mut Vec<(FrameSpan, f64)>) {
    let values = study.action(joint).unwrap_or(&[]);
    let clock = study.clock();
    let linear = study.joints()[joint].linear;
    let periods = |row: usize| {
        let at = clock.steps.binary_search_by_key(&row, |step| step.row);
        at.map_or(1.0, |at| {
            let step = clock.steps[at];
            // A late frame has had more time than one period as well.
            step.periods.max((step.length_s / clock.period_s).min(step.periods + 1.0))
        })
    };
    let step = |row: usize| match values.get(row..row + 2) {
        Some([from, to]) => to - from,
        _ => 0.0,
    };
    for row in 0..values.len().saturating_sub(1) {
        let size = step(row).abs();
        let wraps = !linear && size >= std::f32::consts::PI;
        if size > fastest
            && !wraps
            && f64::from(size) > f64::from(fastest) * periods(row + 1)
            && stands_out(row, fastest, &step)
        {
            found.push((FrameSpan::new(row, row + 2), f64::from(size)));
        }
    }
}

/// Whether a step is none of a motion that goes on.
fn stands_out(row: usize, fastest: f32, step: &impl Fn(usize) -> f32) -> bool {
    let way = step(row).signum();
    let along = |at: usize| way * step(at);
    let first =
        (0..row).rev().take(MOST_STEPS).take_while(|at| along(*at) > fastest).last().unwrap_or(row);
    let last =
        (row + 1..).take(MOST_STEPS).take_while(|at| along(*at) > fastest).last().unwrap_or(row);
    let largest = (first..=last).map(along).fold(0.0f32, f32::max);
    let before = first.checked_sub(1).map_or(0.0, along);
    last - first < MOST_STEPS && before.max(along(last + 1)) <= STANDS_OUT * largest
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::testing::{Bench, sway};

    #[test]
    fn a_jump_of_the_leader_is_counted() {
        for rate_hz in [25.0, 30.0, 50.0, 100.0, 200.0] {
            let gripped = |joint: usize, t: f64| {
                sway(joint, t) + if joint == 1 && t > 4.01 { 0.6 } else { 0.0 }
            };
            let bench = Bench::at(rate_hz).seconds(8.0).leader(gripped).measure(&CHECK);
            let frames = (8.0 * rate_hz) as usize as f64;
            assert!((bench.joint("jump_share", 1) * frames - 1.0).abs() < 1e-9, "{rate_hz} Hz");
            assert_eq!(bench.joint("jump_share", 0), 0.0);
        }
    }

    #[test]
    fn a_filled_row_hides_no_jump_and_noise_is_one_at_each_row() {
        let gripped = |joint: usize, t: f64| {
            let share = ((t - 4.0) / 0.04).floor().clamp(0.0, 2.0) / 2.0;
            sway(joint, t) + if joint == 1 { 1.2 * share } else { 0.0 }
        };
        let bench = Bench::at(25.0).seconds(8.0).leader(gripped).measure(&CHECK);
        assert!((bench.joint("jump_share", 1) * 200.0 - 2.0).abs() < 1e-9, "{bench:?}");
        let noisy = |joint: usize, t: f64| {
            let odd = (t * 50.0).round() as i64 % 2 == 1;
            sway(joint, t) + if joint == 1 && t > 4.0 && odd { 0.5 } else { 0.0 }
        };
        let bench = Bench::at(50.0).seconds(8.0).leader(noisy).measure(&CHECK);
        assert!(bench.joint("jump_share", 1) > 0.4, "{bench:?}");
    }

    /// 800 degrees a second for 0.2 s, from and to rest within 0.1 s.
    #[test]
    fn a_motion_that_goes_on_is_no_jump() {
        let swung = |_: usize, t: f64| {
            let reached = |t: f64| {
                let rise = t.clamp(0.0, 0.1);
                4000.0 * rise * rise + 800.0 * (t - 0.1).max(0.0)
            };
            let ahead = reached((t - 4.0).min(0.2));
            let falls = reached(0.2) - reached((0.4 - t + 4.0).clamp(0.0, 0.2));
            (ahead + falls).to_radians()
        };
        for rate_hz in [30.0, 50.0, 100.0, 200.0] {
            let bench = Bench::at(rate_hz).seconds(8.0).leader(swung).measure(&CHECK);
            assert_eq!(bench.joint("jump_share", 0), 0.0, "{rate_hz} Hz: {bench:?}");
        }
    }

    #[test]
    fn a_fast_hand_with_lost_and_late_frames_does_not_jump() {
        for rate_hz in [25.0, 30.0, 50.0, 100.0, 200.0] {
            // 500 degrees a second at most.
            let fast = |_: usize, t: f64| (100.0 * (5.0 * t).sin()).to_radians();
            let late = move |row: usize| if row % 37 == 5 { 0.7 / rate_hz } else { 0.0 };
            let bench = Bench::at(rate_hz)
                .frames(400)
                .leader(fast)
                .moved_stamps(late)
                .without_rows(&[100, 101, 150, 220])
                .measure(&CHECK);
            assert_eq!(bench.joint("jump_share", 0), 0.0, "{rate_hz} Hz: {bench:?}");
        }
    }
}
