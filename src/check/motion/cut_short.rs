//! A recording that begins or ends in motion: started too late or stopped too early.
//!
//! The policy never sees how the task begins, or how it ends: it does not learn to stop.
//!
//! How: the speed of all arm joints together at the first and at the last frame, drawn out from two
//! chords of 0.1 s (at least a step each), as a share of the episode's 95th percentile of speed. An
//! arm that comes to rest just there reads zero. A hand at rest drifts: one and a half times the
//! median speed of the episode's rests (0.4 s and more below 35 % of that percentile) is taken off
//! first. The leader is looked at, or the follower where there is none.
//!
//! Traps: a continuous task (stirring, wiping) may well begin and end in motion. An episode that
//! hardly moves (below 5 degrees a second) has no speed to compare with: not assessable. Motion is
//! seen if it lasts to within 0.1 s of the last frame. Below 9 Hz two chords are no longer the 0.2 s at
//! the end: not assessable. Nor where actions are held for longer than that: the arm goes from one update
//! to the next, and its speed at one frame says nothing of the operator's.

use crate::check::prelude::{Check, Params, Study};
use crate::check::study::{Motion, weight};
use crate::model::{ActionKind, CheckSpec, Family, FrameSpan, Metric, Sheet, Unit};
use crate::num::quantile::quantile_in_place;
use crate::num::runs::{Run, runs_where};

/// Length of a chord at an end.
const CHORD_S: f64 = 0.1;
/// A chord must hold a step, give or take a tenth.
const SLOWEST_S: f64 = 1.11 * CHORD_S;
/// A rest is slower than this share of the 95th percentile for so long ...
const REST_SHARE: f64 = 0.35;
const REST_S: f64 = 0.4;
/// ... and this many times its median speed is drift.
const DRIFT: f64 = 1.5;
const SLOWEST_RAD_S: f64 = 5.0 * std::f64::consts::PI / 180.0;

static START_SPEED: Metric = Metric::of_episode(
    "start_speed",
    Unit::Ratio,
    "speed at the first frame, drift left out, over the episode's 95th percentile",
)
.above(Some(0.2), None);
static END_SPEED: Metric = Metric::of_episode(
    "end_speed",
    Unit::Ratio,
    "speed at the last frame, drift left out, over the episode's 95th percentile",
)
.above(Some(0.2), None);

static SPEC: CheckSpec = CheckSpec {
    id: "cut-short",
    family: Family::Motion,
    applies_to: crate::model::SignalKind::MOVING,
    needs: crate::model::Relation::Nothing,
    advisory: true,
    source: include_str!("cut_short.rs"),
    cause: "recording was started or stopped in mid-motion",
    remedy: "start before the arm moves, stop once it rests",
    reference: "common practice, no source",
    metrics: &[&START_SPEED, &END_SPEED],
    params: &[],
};

/// The check; the head of this file is its manual.
pub static CHECK: Check = Check::of_episode(&SPEC, measure);

fn measure(study: &Study<'_>, _: &Params, sheet: &mut Sheet) {
    let (Some(motion), Some(period_s)) = (study.motion(), study.period_s()) else {
        return sheet.not_assessed("too few frames, or no frame period");
    };
    if motion.speed_p95 < SLOWEST_RAD_S {
        let speed = motion.speed_p95.to_degrees();
        return sheet.not_assessed(format!("95 % of it is slower than {speed:.1} deg/s, needs 5"));
    }
    if period_s > SLOWEST_S {
        let steps = 2.0 * CHORD_S / period_s;
        return sheet.not_assessed(format!("the last 0.2 s hold {steps:.1} steps, needs 2"));
    }
    if let ActionKind::Held { frames } = study.kind_of_action() {
        let hold_s = f64::from(frames) * period_s;
        if hold_s > 2.0 * CHORD_S {
            return sheet.not_assessed(format!(
                "actions change every {hold_s:.2} s, longer than the 0.2 s at the end"
            ));
        }
    }
    let chord = ((CHORD_S / period_s).round() as usize).max(1);
    let frames = study.episode.frames();
    if frames < 2 * motion.chord + 4 * chord {
        let seconds = (2 * motion.chord + 4 * chord) as f64 * period_s;
        return sheet.not_assessed(format!("shorter than {seconds:.1} s"));
    }
    let usual = usual_speed(study, motion, 2 * chord, period_s);
    let drift = drift(motion);
    // Chords are counted inward from the end in question.
    let last = frames - 1;
    for (metric, at) in [
        (&START_SPEED, [0, chord, 2 * chord]),
        (&END_SPEED, [last, last - chord, last - 2 * chord]),
    ] {
        let speed = end_speed(study, motion, at) / (chord as f64 * period_s);
        let (from, to) = (at[0].min(at[2]), at[0].max(at[2]));
        let share = (speed - drift).max(0.0) / usual;
        sheet.put_spans(metric, None, share, FrameSpan::new(from, to + 1).into());
    }
}

/// Length of the motion in one chord at the first of three rows, drawn out from the chords between them.
/// Zero where that would run the other way: the motion has ended by then.
fn end_speed(study: &Study<'_>, motion: &Motion, [end, middle, far]: [usize; 3]) -> f64 {
    let (mut along, mut squares) = (0.0, 0.0);
    for &joint in &motion.joints {
        let values = study.hand(joint);
        let moved = |a: usize, b: usize| f64::from(values[a] - values[b]) * weight(study, joint);
        let (near, before) = (moved(end, middle), moved(middle, far));
        let drawn = near + 0.5 * (near - before);
        along += drawn * near;
        squares += drawn * drawn;
    }
    if along > 0.0 { squares.sqrt() } else { 0.0 }
}

/// 95th percentile of speed over chords of this many steps. On slow logs the chords of the motion are
/// longer than those at the ends, and smooth away what is fast.
fn usual_speed(study: &Study<'_>, motion: &Motion, chord: usize, period_s: f64) -> f64 {
    if chord >= motion.chord {
        return motion.speed_p95;
    }
    let mut squares = vec![0.0f64; study.episode.frames() - chord];
    for &joint in &motion.joints {
        let values = study.hand(joint);
        let scale = weight(study, joint) / (chord as f64 * period_s);
        for ((sum, a), b) in squares.iter_mut().zip(values).zip(&values[chord..]) {
            *sum += (f64::from(b - a) * scale).powi(2);
        }
    }
    quantile_in_place(&mut squares, 0.95).sqrt().max(motion.speed_p95)
}

/// Speed that the hand has at rest; zero where it never rests.
fn drift(motion: &Motion) -> f64 {
    let slow = (REST_SHARE * motion.speed_p95) as f32;
    let long = |run: &Run| (run.1 - run.0) as f64 * motion.hop_s >= REST_S;
    let rests = runs_where(&motion.speed, |speed| *speed < slow).filter(long);
    let mut speeds: Vec<f32> = rests.flat_map(|run| &motion.speed[run.0..run.1]).copied().collect();
    if speeds.is_empty() { 0.0 } else { DRIFT * quantile_in_place(&mut speeds, 0.5) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::testing::{Bench, sway};
    use crate::model::{Actions, KnownBy};

    #[test]
    fn an_end_in_mid_motion_is_read() {
        for rate_hz in [25.0, 30.0, 50.0, 100.0, 200.0] {
            // From the crest, at rest; 0.4 Hz for 8.125 s end at the fastest place of joint 0.
            let motion = |joint: usize, t: f64| if joint == 0 { sway(0, t + 0.625) } else { 0.2 };
            let bench = Bench::at(rate_hz).seconds(8.125).leader(motion).measure(&CHECK);
            assert!(bench.value("end_speed") > 0.9, "{rate_hz} Hz: {bench:?}");
            // From rest: the mean over the first fifth of a second is 0.24 of the fastest.
            assert!(bench.value("start_speed") < 0.02, "{bench:?}");
        }
    }

    #[test]
    fn an_episode_that_rests_at_both_ends_is_whole() {
        for rate_hz in [25.0, 30.0, 50.0, 100.0, 200.0] {
            let motion = |joint: usize, t: f64| sway(joint, (t - 0.4).clamp(0.0, 7.5));
            let bench = Bench::at(rate_hz).seconds(8.4).leader(motion).measure(&CHECK);
            assert!(bench.value("start_speed") < 1e-6 && bench.value("end_speed") < 1e-6);
        }
    }

    /// Between moves the hand wanders by a quarter of its fastest speed, at the ends too.
    #[test]
    fn a_hand_that_drifts_at_rest_does_not_cut_short() {
        for rate_hz in [10.0, 20.0, 30.0, 50.0, 100.0, 500.0] {
            for phase in 0..20 {
                let drifting = move |joint: usize, t: f64| {
                    let moved = sway(joint, (t - 1.0).clamp(0.0, 5.0));
                    let slow = 0.9 * t + 0.31 * f64::from(phase) + joint as f64;
                    moved + (4.0f64.to_radians() * slow.sin()) + 0.02 * (2.3 * slow).cos()
                };
                let bench = Bench::at(rate_hz).seconds(8.0).leader(drifting).measure(&CHECK);
                let (start, end) = (bench.value("start_speed"), bench.value("end_speed"));
                assert!(start < 0.2 && end < 0.2, "{rate_hz} Hz {phase}: {start} {end}");
            }
        }
    }

    /// What the manual states: an end in mid-motion is read at any rate from 9 Hz on.
    #[test]
    fn the_resolution_of_the_manual_holds() {
        let slow = Bench::at(5.0).seconds(12.0).measure(&CHECK);
        assert!(slow.missing("end_speed") && slow.is_not_assessed("needs 2"));
        for rate_hz in [9.5, 10.0, 30.0, 100.0, 500.0, 1000.0] {
            let frames = (8.0 * rate_hz) as usize;
            let last_s = (frames - 1) as f64 / rate_hz;
            let ending =
                move |joint: usize, t: f64| if joint == 0 { sway(0, t - last_s) } else { 0.2 };
            let bench = Bench::at(rate_hz).frames(frames).leader(ending).measure(&CHECK);
            assert!(bench.value("end_speed") > 0.8, "{rate_hz} Hz: {bench:?}");
            // At rest for the last 0.3 s.
            let resting =
                move |joint: usize, t: f64| sway(joint, (t - 0.3).clamp(0.0, last_s - 0.6));
            let bench = Bench::at(rate_hz).frames(frames).leader(resting).measure(&CHECK);
            assert!(bench.value("end_speed") < 0.2, "{rate_hz} Hz: {bench:?}");
        }
    }

    /// An arm that is on its way to the last update when the recording ends.
    #[test]
    fn of_actions_that_are_held_for_long_nothing_is_said() {
        for (frames, assessed) in [(3, true), (6, false)] {
            let held = Actions { kind: ActionKind::Held { frames }, by: KnownBy::Declared };
            let bench = Bench::at(20.0).seconds(8.0).rig(move |rig| rig.actions = held.clone());
            let read = bench.measure(&CHECK);
            assert_eq!(read.missing("end_speed"), !assessed, "{frames}: {read:?}");
            assert!(assessed || read.is_not_assessed("actions change every 0.30 s"), "{read:?}");
        }
    }

    #[test]
    fn an_arm_at_rest_has_no_speed_to_compare_with() {
        let bench = Bench::at(30.0).seconds(8.0).still().measure(&CHECK);
        assert!(bench.missing("end_speed") && bench.is_not_assessed("slower than"));
    }
}
