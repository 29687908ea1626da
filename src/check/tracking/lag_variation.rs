//! A lag that is not the same throughout: one joint apart from the others, or a lag that changes.
//!
//! A policy can learn to be a constant time ahead. It cannot learn a lag that grows with the
//! servo's heat, or that only one joint has.
//!
//! How: the joints' lags without what backlash adds to them (see backlash); a joint is apart from the
//! others by more than two frames of 20 ms or more. In windows of 5 s and more, all joints together,
//! the lag's interquartile range, and in halves of them its trend (Theil-Sen, its 95 % interval
//! clear of zero), in frames of 15 ms or more.
//!
//! Traps: backlash makes a joint that moves little seem late, so a joint counts only with 20 degrees
//! (40 mm) and 20 times its backlash. A servo at its speed limit lags more the farther it has to go.

use super::lag_course::course;
use crate::check::prelude::{Check, Params, Study};
use crate::check::study::{Following, LEAST_MOTION_M, LEAST_MOTION_RAD, Traced};
use crate::model::{CheckSpec, Family, Metric, Pool, Sheet, Unit};

static LAG_APART: Metric = Metric::of_joint(
    "lag_apart",
    Unit::Frames,
    "how far the joint's lag is off the overall lag, in frames of 20 ms or more",
)
.above(Some(2.0), None)
.pooled(Pool::Own);
static LAG_DRIFT: Metric = Metric::of_episode(
    "lag_drift",
    Unit::Frames,
    "change of the lag over the episode, in frames of 15 ms or more",
)
.above(Some(1.0), Some(3.0))
.pooled(Pool::Own);
static LAG_UNREST: Metric = Metric::of_episode(
    "lag_unrest",
    Unit::Frames,
    "interquartile range of the lag in windows of 5 s, in frames of 15 ms or more",
)
.above(Some(1.0), Some(2.0))
.pooled(Pool::Own);

static SPEC: CheckSpec = CheckSpec {
    id: "lag-variation",
    family: Family::Tracking,
    applies_to: crate::model::SignalKind::MOVING,
    needs: crate::model::Relation::Target,
    advisory: false,
    source: include_str!("lag_variation.rs"),
    cause: "the follower or its bus has become slower, or one joint is set up unlike the others",
    remedy: "let the drives cool; compare the slow joint's settings and wiring with the others'",
    reference: "Theil-Sen: Sen 1968, JASA 63, 1379-1389; limits: engineering judgement, no source",
    metrics: &[&LAG_APART, &LAG_DRIFT, &LAG_UNREST],
    params: &[],
};

/// The check; the head of this file is its manual.
pub static CHECK: Check = Check::of_episode(&SPEC, measure);

fn measure(study: &Study<'_>, _: &Params, sheet: &mut Sheet) {
    if let Some(reason) = study.no_leader() {
        return sheet.not_assessed(reason);
    }
    let following = study.following();
    let traces = study.traces();
    match following.overall_s {
        Some(overall_s) => apart(study, following, traces, overall_s, sheet),
        None => sheet.not_assessed("no joint has a lag"),
    }
    course_of(study, traces, sheet);
}

/// How far each joint's lag is off that of the others. Backlash makes a joint that moves little seem
/// late, so only those with 20 degrees (40 mm) and 20 times their backlash count.
fn apart(
    study: &Study<'_>,
    following: &Following,
    traces: &[Option<Traced>],
    overall_s: f64,
    sheet: &mut Sheet,
) {
    let frame_s = study.episode.rig.period_s.max(0.020);
    let known = following.joints.iter().flatten().filter(|aligned| aligned.lag_s.is_ok()).count();
    for (joint, traced) in traces.iter().enumerate().filter(|_| known >= 2) {
        let Some(Traced { motion, lag_without_play_s: Some(lag_s), fit, .. }) = traced else {
            continue;
        };
        let smallest = if study.joints()[joint].linear { LEAST_MOTION_M } else { LEAST_MOTION_RAD };
        let play = fit.map_or(0.0, |fit| fit.play.max(0.0));
        if *motion >= (2.0 * smallest).max(20.0 * play) {
            sheet.put_joint(&LAG_APART, joint, (lag_s - overall_s).abs() / frame_s);
        }
    }
}

/// How the lag goes over the episode; nothing is said of episodes too short for it.
fn course_of(study: &Study<'_>, traces: &[Option<Traced>], sheet: &mut Sheet) {
    let Some(grid) = study.grid() else { return };
    let course = course(traces, grid.points(), grid.step_s, 2.0 * LEAST_MOTION_RAD);
    if let Some(course) = course {
        let frame_s = study.episode.rig.period_s.max(0.015);
        sheet.put(&LAG_DRIFT, course.drift_s.abs() / frame_s);
        sheet.put(&LAG_UNREST, course.spread_s / frame_s);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::testing::{Bench, sway};

    #[test]
    fn a_lag_that_grows_and_a_joint_that_lags_alone_are_told() {
        for rate_hz in [25.0, 50.0, 200.0] {
            // From 60 to 120 ms over 40 s.
            let tiring = |joint: usize, t: f64| sway(joint, t - 0.06 - 0.0015 * t);
            let bench = Bench::at(rate_hz).seconds(40.0).follower(tiring).measure(&CHECK);
            // From the middle of the first half window to that of the last: 15 sixteenths of it.
            let drift_s = bench.value("lag_drift") * f64::max(1.0 / rate_hz, 0.015);
            assert!((drift_s - 0.05625).abs() < 0.006, "{rate_hz} Hz: {drift_s}");
            let alone = |joint: usize, t: f64| sway(joint, t - if joint == 0 { 0.06 } else { 0.2 });
            let bench = Bench::at(rate_hz).seconds(20.0).follower(alone).measure(&CHECK);
            let apart_s = bench.joint("lag_apart", 1) * f64::max(1.0 / rate_hz, 0.02);
            assert!((apart_s - 0.14).abs() < 2e-3, "{rate_hz} Hz: {apart_s}");
            assert!(bench.value("lag_drift") < 0.1 && bench.value("lag_unrest") < 0.1);
        }
    }
}
