//! A recording that begins or ends in motion: started too late or stopped too early.
//!
//! The policy never sees how the task begins, or how it ends: it does not learn to stop.
//!
//! How: the speed of all arm joints together over the first and over the last 0.2 s (at least five
//! frames), as a share of the episode's 95th percentile of speed. The leader is looked at, or the
//! follower where there is none.
//!
//! Traps: a continuous task (stirring, wiping) may well begin and end in motion. An episode that
//! hardly moves (below 5 degrees a second) has no speed to compare with: not assessable.

use crate::check::prelude::{Check, Params, Study};
use crate::check::study::weight;
use crate::model::{CheckSpec, Family, FrameSpan, Metric, Sheet, Unit};

const END_S: f64 = 0.2;
const SLOWEST_RAD_S: f64 = 5.0 * std::f64::consts::PI / 180.0;

static START_SPEED: Metric = Metric::of_episode(
    "start_speed",
    Unit::Ratio,
    "speed in the first 0.2 s over the episode's 95th percentile",
)
.above(Some(0.2), None);
static END_SPEED: Metric = Metric::of_episode(
    "end_speed",
    Unit::Ratio,
    "speed in the last 0.2 s over the episode's 95th percentile",
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
    let chord = ((END_S / period_s).ceil() as usize).max(4);
    let frames = study.episode.frames();
    if frames < 4 * chord {
        return sheet.not_assessed("shorter than 0.8 s");
    }
    let share = |from: usize| {
        let squares: f64 = motion
            .joints
            .iter()
            .map(|&joint| {
                let values = study.hand(joint);
                let moved = f64::from(values[from + chord] - values[from]);
                (moved * weight(study, joint)).powi(2)
            })
            .sum();
        squares.sqrt() / (chord as f64 * period_s) / motion.speed_p95
    };
    for (metric, from) in [(&START_SPEED, 0), (&END_SPEED, frames - 1 - chord)] {
        let span = FrameSpan::new(from, from + chord + 1);
        sheet.put_spans(metric, None, share(from), span.into());
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::testing::{Bench, sway};

    #[test]
    fn an_end_in_mid_motion_is_read() {
        for rate_hz in [25.0, 30.0, 50.0, 100.0, 200.0] {
            // From the crest, at rest; 0.4 Hz for 8.125 s end at the fastest place of joint 0.
            let motion = |joint: usize, t: f64| if joint == 0 { sway(0, t + 0.625) } else { 0.2 };
            let bench = Bench::at(rate_hz).seconds(8.125).leader(motion).measure(&CHECK);
            assert!(bench.value("end_speed") > 0.9, "{rate_hz} Hz: {bench:?}");
            // A chord over the first fifth of a second of a cosine: 0.24 of the fastest.
            assert!((bench.value("start_speed") - 0.25).abs() < 0.05, "{bench:?}");
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

    #[test]
    fn an_arm_at_rest_has_no_speed_to_compare_with() {
        let bench = Bench::at(30.0).seconds(8.0).still().measure(&CHECK);
        assert!(bench.missing("end_speed") && bench.is_not_assessed("slower than"));
    }
}
