//! Commands faster than the joint can turn.
//!
//! The follower falls behind and cuts corners; its lag depends on how fast the hand was.
//!
//! How: the 99.9th percentile of the leader's speed, over chords of at least five frames and 100 ms,
//! as a share of the joint's largest speed, as declared or by the URDF. Where the table has the
//! follower's measured speed, and it agrees with the follower's motion within a third, the same of
//! it is read as well.
//!
//! Traps: needs a declared largest speed: without one not assessable. A speed made of two frames
//! would be mostly counts and jitter.

use crate::check::prelude::{Check, Params, Study};
use crate::check::study::chord;
use crate::model::{CheckSpec, Extra, Family, FrameSpan, JointId, Metric, Sheet, SpanList, Unit};
use crate::num::quantile::quantile_in_place;

static SPEED_SHARE: Metric = Metric::of_joint(
    "speed_share",
    Unit::Share,
    "99.9th percentile of the leader's speed over the joint's largest",
)
.above(Some(1.0), Some(1.5));
static MEASURED_SHARE: Metric = Metric::of_joint(
    "measured_share",
    Unit::Share,
    "99.9th percentile of the follower's measured speed over the joint's largest",
);

static SPEC: CheckSpec = CheckSpec {
    id: "overspeed",
    family: Family::Limits,
    advisory: true,
    source: include_str!("overspeed.rs"),
    cause: "the hand is faster than the follower's servo",
    remedy: "move more slowly; look at the servo's speed and acceleration settings",
    reference: "common practice, no source",
    metrics: &[&SPEED_SHARE, &MEASURED_SHARE],
    params: &[],
};

/// The check; the head of this file is its manual.
pub static CHECK: Check = Check::of_episode(&SPEC, measure).extras(&[Extra::Velocity]);

fn measure(study: &Study<'_>, _: &Params, sheet: &mut Sheet) {
    let Some(period_s) = study.period_s() else { return sheet.not_assessed("no frame period") };
    if study.episode.action.is_none() {
        return sheet.not_assessed("no leader column");
    }
    if study.joints().iter().all(|joint| joint.max_speed.is_none()) {
        return sheet.not_assessed("no maximum speed is declared (profile or --urdf)");
    }
    let chord = chord(period_s).unwrap_or(4);
    if study.episode.frames() < 2 * chord {
        return sheet.not_assessed("shorter than two chords");
    }
    let mut moved: Vec<f32> = Vec::new();
    for (joint, described) in study.joints().iter().enumerate() {
        let (Some(max_speed), Some(leader)) = (described.max_speed, study.action(joint)) else {
            continue;
        };
        let hop = (chord / 4).max(1);
        let chords = leader.iter().zip(&leader[chord..]).step_by(hop);
        moved.clear();
        moved.extend(chords.map(|(a, b)| (b - a).abs()));
        let largest = (max_speed * chord as f64 * period_s) as f32;
        let fast = moved.iter().enumerate().filter(|(_, size)| **size > largest);
        let span = |at: usize| FrameSpan::new(at * hop, at * hop + chord + 1);
        let spans = SpanList::worst(fast.map(|(at, size)| (span(at), f64::from(*size))));
        let speed = quantile_in_place(&mut moved, 0.999) / (chord as f64 * period_s);
        sheet.put_spans(&SPEED_SHARE, Some(joint as JointId), speed / max_speed, spans);
        if let Some(velocity) = &study.episode.extras.velocity
            && let Some(measured) =
                measured(velocity.joint(joint), study.state(joint), chord, period_s)
        {
            sheet.put_joint(&MEASURED_SHARE, joint, measured / max_speed);
        }
    }
}

/// The 99.9th percentile of a measured speed; `None` if it is not the speed of the motion, as where
/// its unit is another.
fn measured(velocity: &[f32], state: &[f32], chord: usize, period_s: f64) -> Option<f64> {
    let mut speeds: Vec<f32> = velocity.iter().map(|v| v.abs()).filter(|v| v.is_finite()).collect();
    let chords = state.iter().zip(&state[chord..]);
    let mut moved: Vec<f32> = chords.map(|(a, b)| (b - a).abs()).collect();
    if speeds.is_empty() {
        return None;
    }
    let by_motion = quantile_in_place(&mut moved, 0.95) / (chord as f64 * period_s);
    let agrees = quantile_in_place(&mut speeds, 0.95) / by_motion;
    (0.67..=1.5).contains(&agrees).then(|| quantile_in_place(&mut speeds, 0.999))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::testing::{Bench, Measured};
    use crate::model::Channels;

    #[test]
    fn a_measured_speed_is_read_where_it_is_the_speed() {
        let turn = |joint: usize, t: f64| if joint == 0 { 0.5 * t } else { 0.1 * t };
        let bench = Bench::at(50.0).seconds(4.0).leader(turn);
        let bench = bench.rig(|rig| rig.joints.iter_mut().for_each(|j| j.max_speed = Some(1.0)));
        let mut episode = bench.episode();
        let frames = episode.frames();
        // The waist's in rad/s, the elbow's in some unit of its servo.
        let values = (0..2).flat_map(|j| vec![if j == 0 { 0.5 } else { 65.0 }; frames]).collect();
        episode.extras.velocity = Some(Channels::new(values, frames, 2));
        let read = Measured::of(&CHECK, &episode);
        assert!((read.joint("measured_share", 0) - 0.5).abs() < 1e-6, "{read:?}");
        assert!(read.joint("measured_share", 1).is_nan());
    }

    #[test]
    fn a_steady_turn_reads_its_speed_over_the_largest() {
        for rate_hz in [25.0, 30.0, 50.0, 100.0, 200.0] {
            for share in [0.5, 0.95, 1.2, 2.0] {
                let turn = move |joint: usize, t: f64| {
                    let speed = if joint == 0 { share } else { 0.1 };
                    speed * t
                };
                let bench = Bench::at(rate_hz)
                    .seconds(1.9)
                    .leader(turn)
                    .rig(|rig| rig.joints.iter_mut().for_each(|j| j.max_speed = Some(1.0)))
                    .measure(&CHECK);
                let read = bench.joint("speed_share", 0);
                assert!((read - share).abs() < 0.02 * share, "{rate_hz} Hz: {read} for {share}");
            }
        }
        assert!(Bench::at(30.0).measure(&CHECK).is_not_assessed("is declared"));
    }
}
