//! Backlash (play in gears and horns): the follower stays at rest while the leader turns round.
//!
//! The same reading stands for two poses, and a small correction does nothing until the backlash is
//! crossed.
//!
//! How: e = s(t + L) - a(t) fitted by constant + c h + gain * pose + rest of the lag * v + bend *
//! acceleration. h is the side on which the backlash rests: +1 after a motion upward, -1 after one
//! downward, in between while the backlash is crossed; it follows the leader through backlash of the size
//! found so far, three times over. Backlash is -2 c. v is a chord over 100 ms and five samples or
//! more.
//!
//! Traps: at rest the side says one thing over and over, so points count by their speed up to 3
//! degrees a second. A joint that turns round only once shows no backlash, and on less than 10 degrees
//! (20 mm) of motion backlash and range look alike.

use crate::check::prelude::{Check, Params};
use crate::check::study::Study;
use crate::model::{CheckSpec, Family, Metric, Pool, Sheet, Unit};

const DEGREE: f64 = std::f64::consts::PI / 180.0;

/// More is not backlash but a joint that does not follow.
const MOST_PLAY: f64 = 6.0 * DEGREE;
/// With fewer turns, whatever else happened on one of the ways passes for backlash.
const TURNS: usize = 2;

/// The measurement `play`.
pub static PLAY: Metric =
    Metric::of_joint("play", Unit::Radian, "backlash of the joint from stop to stop")
        .above(Some(1.5 * DEGREE), Some(3.0 * DEGREE))
        .feature()
        .pooled(Pool::Own);

static LAG_WITHOUT_PLAY: Metric = Metric::of_joint(
    "lag_without_play",
    Unit::Second,
    "the joint's lag without what backlash adds to it",
);

static SPEC: CheckSpec = CheckSpec {
    id: "backlash",
    family: Family::Tracking,
    advisory: true,
    source: include_str!("backlash.rs"),
    cause: "backlash in the gears, or a loose horn",
    remedy: "tighten the horn screws; replace worn gears; preload the joint",
    reference: "common practice, no source; proved on planted backlash",
    metrics: &[&PLAY, &LAG_WITHOUT_PLAY],
    params: &[],
};

/// The check; the head of this file is its manual.
pub static CHECK: Check = Check::of_episode(&SPEC, measure);

fn measure(study: &Study<'_>, _: &Params, sheet: &mut Sheet) {
    study.each_moved(1.0, sheet, |joint, traced, sheet| match traced.fit {
        Some(fit) if fit.turns < TURNS => {
            let turns = fit.turns;
            sheet.not_assessed_joint(
                joint,
                format!("its backlash was crossed {turns} of the {TURNS} times it takes"),
            );
        }
        // What is left must be less than the backlash itself, or it is something else.
        Some(fit) if fit.left < fit.play.abs().max(1.5 * DEGREE) && fit.play < MOST_PLAY => {
            sheet.put_joint(&PLAY, joint, fit.play.max(0.0));
            if let Some(lag_s) = traced.lag_without_play_s {
                sheet.put_joint(&LAG_WITHOUT_PLAY, joint, lag_s);
            }
        }
        _ => {
            sheet.not_assessed_joint(joint, "more than backlash lies between leader and follower");
        }
    });
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::testing::{Bench, sway};

    /// Position behind backlash of this size, by walking the leader in steps of a millisecond.
    fn behind_play(joint: usize, t: f64, play: f64) -> f64 {
        // Only the last turn counts; the motions here turn at least once in 1.3 s.
        let from = ((t - 2.6) * 1e3) as i64;
        let mut output = sway(joint, from as f64 * 1e-3);
        for step in from..(t * 1e3) as i64 {
            let motor = sway(joint, step as f64 * 1e-3);
            output = output.clamp(motor - 0.5 * play, motor + 0.5 * play);
        }
        let motor = sway(joint, t);
        output.clamp(motor - 0.5 * play, motor + 0.5 * play)
    }

    #[test]
    fn planted_play_is_read_and_taken_out_of_the_lag() {
        for rate_hz in [25.0, 50.0, 200.0] {
            for play_deg in [0.0f64, 0.9, 2.5] {
                let loose =
                    move |joint: usize, t: f64| behind_play(joint, t - 0.08, play_deg.to_radians());
                let bench = Bench::at(rate_hz).seconds(12.0).follower(loose);
                let read = bench.measure(&CHECK);
                for joint in 0..2 {
                    let play = read.joint("play", joint).to_degrees();
                    let near = 0.15 + 0.06 * play_deg;
                    assert!((play - play_deg).abs() < near, "{rate_hz} Hz {play_deg}: {play}");
                }
                let off_ms = (read.joint("lag_without_play", 0) - 0.08).abs() * 1e3;
                assert!(off_ms < 3.0, "{rate_hz} Hz, {play_deg} deg: {off_ms} ms");
            }
        }
    }
}
