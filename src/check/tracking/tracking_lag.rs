//! How long the follower takes to do what the leader did.
//!
//! Lag comes from the bus, USB, and the servo itself. A hand feels it from about 100 ms on, and a
//! policy that sees the state and predicts the action must learn to be that much ahead.
//!
//! How: per joint, the L for which Var(s(t + L) - a(t)) is smallest: in the position domain, coarse
//! to fine, refined by a parabola to a fraction of a frame. On a uniform grid where stamps are
//! uneven or frames are lost. The width is the span of lags whose residual variance is within a
//! tenth of the smallest. The overall lag is the median over the joints, weighted by their motion.
//! Positive: the follower is later.
//!
//! Traps: backlash looks like lag: 0.9 degrees of slop add 6 ms at 30 degrees of motion and 40 ms
//! at 5, so a joint that moved less than 10 degrees (20 mm) is not assessable, nor one that moved
//! so slowly that they would add more than 50 ms, nor one whose minimum is wide, at the edge of the
//! search, or flat. A servo at its speed limit lags more the farther it has to go. Grippers are
//! left out: their lag is the grasp. Actions that are held between updates are older than they were
//! when they were new: the lag is given less half of the hold, and with it. Of increments and velocities it is
//! the lag behind the path to which they add up. Do not shift actions to cancel the lag: commanded minus
//! measured position carries the grasp force.

use crate::check::prelude::{Check, Params, Settings, Study};
use crate::check::study::{METRES_A_RADIAN, chord};
use crate::model::{ActionKind, CheckSpec, Family, Joint, Metric, Param, Pool, Sheet, Unit};

/// The measurement `lag`.
pub static LAG: Metric = Metric::of_joint("lag", Unit::Second, "how much later the follower is")
    .above(Some(0.150), Some(0.300))
    .pooled(Pool::Own)
    .recovery(
        "as it is: a policy learns a constant lag if it predicts that much further ahead; shift \
         actions, by whole frames, only where they were stamped late",
    );
static LAG_WIDTH: Metric =
    Metric::of_joint("lag_width", Unit::Second, "width of the minimum: how sharp the lag is");
/// The measurement `lag_overall`.
pub static LAG_OVERALL: Metric = Metric::of_episode(
    "lag_overall",
    Unit::Second,
    "median of the joints' lags, weighted by motion",
);
static LAG_WITH_HOLD: Metric = Metric::of_joint(
    "lag_with_hold",
    Unit::Second,
    "the lag with half of the hold in it, where actions are held between updates",
);
static LAG_FRAMES: Metric =
    Metric::of_episode("lag_frames", Unit::Frames, "the overall lag in frame periods");

static SEARCH_S: Param = Param {
    id: "search_s",
    summary: "largest lag looked for, either way",
    unit: Unit::Second,
    default: 1.0,
};

static SPEC: CheckSpec = CheckSpec {
    id: "tracking-lag",
    family: Family::Tracking,
    applies_to: crate::model::SignalKind::MOVING,
    needs: crate::model::Relation::Motion,
    advisory: false,
    source: include_str!("tracking_lag.rs"),
    cause: "the bus, USB or a drive is slow, or the controller looks ahead or smooths by design",
    remedy: "set the USB latency timer to 1 ms, read and write servos as a group; check the \
             drive's acceleration and speed settings; raise the rate; nothing where the controller \
             looks ahead by design",
    reference: "average squared difference: Jacovitti & Scarano 1993, doi 10.1109/78.193195 (from \
                memory); proved on signals of known delay",
    metrics: &[&LAG, &LAG_WIDTH, &LAG_WITH_HOLD, &LAG_OVERALL, &LAG_FRAMES],
    params: &[&SEARCH_S],
};

/// Half the backlash that must be expected of a joint: 0.9 degrees from stop to stop, as simulated.
const HALF_PLAY_RAD: f64 = 0.45 * std::f64::consts::PI / 180.0;
/// More than this of what may be backlash says nothing of the bus and the servo: a third of the limit.
const MOST_PLAY_S: f64 = 0.050;
/// Slower than this a hand holds still: 3 degrees a second.
const STILL_RAD_S: f64 = 3.0 * std::f64::consts::PI / 180.0;
/// A joint that moved this far was fast enough somewhere: 30 degrees.
const FAR_RAD: f64 = 30.0 * std::f64::consts::PI / 180.0;

/// By how much backlash makes a joint later at the speeds at which its leader moved; zero for one that
/// moved far. Backlash holds the follower half of it back against the direction of motion; the delay v L
/// that comes nearest to that in least squares has L = (backlash / 2) E|v| / E(v^2).
fn play_s(study: &Study<'_>, joint: usize, motion: f64) -> f64 {
    let period_s = study.episode.rig.period_s;
    let (Some(leader), Some(chord)) = (study.action(joint), chord(period_s)) else { return 0.0 };
    let unit = if study.joints()[joint].linear { METRES_A_RADIAN } else { 1.0 };
    if motion >= FAR_RAD * unit {
        return 0.0;
    }
    let half_play = HALF_PLAY_RAD * unit;
    let chord_s = chord as f64 * period_s;
    let still = STILL_RAD_S * unit * chord_s;
    let (mut sizes, mut squares) = (0.0f64, 0.0f64);
    for (a, b) in leader.iter().zip(leader.get(chord..).unwrap_or(&[])) {
        let moved = f64::from(b - a);
        if moved.abs() >= still {
            sizes += moved.abs();
            squares += moved * moved;
        }
    }
    if squares > 0.0 { half_play * chord_s * sizes / squares } else { 0.0 }
}

fn too_slow(play_s: f64, linear: bool) -> String {
    let play = if linear { "1.8 mm" } else { "0.9 deg" };
    let (read, most) = (play_s * 1e3, MOST_PLAY_S * 1e3);
    format!(
        "so slow that backlash of {play} would add {read:.0} ms of lag (most allowed {most:.0} ms)"
    )
}

/// The check; the head of this file is its manual.
pub static CHECK: Check = Check::of_episode(&SPEC, measure);

/// What the parameters in force say of that which checks share.
pub fn settings(params: &Params) -> Settings {
    Settings { lag_search_s: params.get(&SPEC, &SEARCH_S) }
}

fn measure(study: &Study<'_>, _: &Params, sheet: &mut Sheet) {
    if let Some(reason) = study.no_leader() {
        return sheet.not_assessed(reason);
    }
    let following = study.following();
    for (joint, aligned) in following.joints.iter().enumerate() {
        let Some(aligned) = aligned else {
            if study.joints()[joint].gripper_by_place {
                sheet.not_assessed_joint(joint, Joint::GRIPPER_BY_PLACE);
            }
            continue;
        };
        match &aligned.lag_s {
            Ok((lag_s, width_s)) => {
                let play_s = play_s(study, joint, aligned.motion);
                if play_s > MOST_PLAY_S {
                    sheet.not_assessed_joint(joint, too_slow(play_s, study.joints()[joint].linear));
                    continue;
                }
                // A held value is on average half a hold old: that is the logger's, not the servo's.
                if let ActionKind::Held { frames } = study.kind_of_action() {
                    let hold_s = f64::from(frames) * study.episode.rig.period_s;
                    sheet.put_joint(&LAG, joint, lag_s - 0.5 * hold_s);
                    sheet.put_joint(&LAG_WITH_HOLD, joint, *lag_s);
                } else {
                    sheet.put_joint(&LAG, joint, *lag_s);
                }
                sheet.put_joint(&LAG_WIDTH, joint, *width_s);
            }
            Err(reason) => sheet.not_assessed_joint(joint, reason.clone()),
        }
    }
    if let Some(overall_s) = following.overall_s {
        sheet.put(&LAG_OVERALL, overall_s);
        sheet.put(&LAG_FRAMES, overall_s / study.episode.rig.period_s);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::testing::{Bench, jitter_s, sway};

    #[test]
    fn a_planted_lag_is_read_within_a_millisecond_at_every_rate() {
        for rate_hz in [25.0, 30.0, 50.0, 100.0, 200.0] {
            for lag_s in [0.02, 0.075, 0.18, 0.33] {
                let bench = Bench::at(rate_hz)
                    .seconds(10.0)
                    .moved_stamps(move |i| jitter_s(i, 0.04 / rate_hz))
                    .follower(move |joint, t| sway(joint, t - lag_s) + 0.07)
                    .measure(&CHECK);
                for joint in 0..2 {
                    let error_s = (bench.joint("lag", joint) - lag_s).abs();
                    assert!(error_s < 1e-3, "{rate_hz} Hz, {lag_s} s: off by {error_s} s");
                }
                assert!((bench.value("lag_overall") - lag_s).abs() < 1e-3);
            }
        }
    }

    #[test]
    fn lost_frames_do_not_move_the_lag() {
        let lost: Vec<usize> = (0..600).filter(|i| i % 29 == 3 || (200..204).contains(i)).collect();
        let bench = Bench::at(50.0)
            .frames(600)
            .moved_stamps(|i| jitter_s(i, 6e-3))
            .without_rows(&lost)
            .measure(&CHECK);
        assert!((bench.joint("lag", 0) - 0.08).abs() < 1e-3, "{bench:?}");
    }

    #[test]
    fn a_small_motion_is_not_assessable_and_a_gripper_left_out() {
        let small = |joint: usize, t: f64| sway(joint, t) * if joint == 0 { 0.15 } else { 1.0 };
        let bench = Bench::at(50.0)
            .frames(600)
            .leader(small)
            .rig(|rig| rig.joints[1].gripper = true)
            .measure(&CHECK);
        assert!(bench.missing("lag") && bench.is_not_assessed("moved it 9.0 deg, needs 10 deg"));
    }

    /// There and back by 20 degrees at constant speed: half of 0.9 degrees takes 0.45 / speed.
    #[test]
    fn a_joint_so_slow_that_play_looks_like_much_lag_is_not_assessable() {
        for rate_hz in [25.0, 50.0, 200.0] {
            let read = |deg_s: f64| {
                let ways = move |t: f64| {
                    let turn = (deg_s * t / 20.0).rem_euclid(2.0);
                    (20.0 * turn.min(2.0 - turn)).to_radians()
                };
                let bench = Bench::at(rate_hz).seconds(12.0).leader(move |_, t| ways(t));
                bench.follower(move |_, t| ways(t - 0.08)).measure(&CHECK)
            };
            let slow = read(7.0);
            assert!(
                slow.missing("lag") && slow.is_not_assessed("so slow that backlash of 0.9 deg"),
                "{rate_hz} Hz: {slow:?}"
            );
            assert!((read(11.0).joint("lag", 0) - 0.08).abs() < 2e-3, "{rate_hz} Hz");
        }
    }

    /// 0.08 s is inside a search of one second and outside one of 0.05 s, whoever asks first.
    #[test]
    fn a_study_keeps_the_search_that_it_began_with() {
        let episode = Bench::at(50.0).frames(600).episode();
        for (search_s, found) in [(1.0, true), (0.05, false)] {
            let mut params = Params::default();
            params.set(&SPEC, &SEARCH_S, search_s);
            let study = Study::new(&episode, settings(&params));
            study.likeness();
            let mut sheet = Sheet::new(&SPEC);
            CHECK.measure(&study, &Params::default(), &mut sheet);
            let lag = sheet.into_parts().0.iter().any(|reading| reading.metric.id == "lag");
            assert_eq!(lag, found, "search of {search_s} s");
        }
    }

    #[test]
    fn a_follower_that_does_not_answer_has_no_lag() {
        let bench = Bench::at(50.0).frames(600).follower(|_, _| 0.1).measure(&CHECK);
        assert!(bench.missing("lag") && !bench.not_assessed.is_empty());
    }
}
