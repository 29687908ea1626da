//! An encoder whose zero lies inside the work range: the angle jumps by a turn as the joint passes.
//!
//! To a policy the two sides of the zero are the two ends of the world.
//!
//! How: steps from one frame to the next of half a turn or more, leader and follower together.
//!
//! Traps: no joint turns by half a turn in a frame, at any usual rate; a joint that is declared
//! linear is left out. A joint of several turns that counts on does not wrap and does not jump.

use crate::check::prelude::{Check, Params, Study};
use crate::model::{CheckSpec, Family, FrameSpan, JointId, Metric, Sheet, SpanList, Unit};

static WRAPS: Metric =
    Metric::of_joint("wraps", Unit::Count, "steps of half a turn or more, leader and follower")
        .above(None, Some(0.0))
        .recovery("add or take whole turns so that the column has no jumps");

static SPEC: CheckSpec = CheckSpec {
    id: "encoder-wrap",
    family: Family::Signal,
    applies_to: crate::model::SignalKind::BOUNDED,
    needs: crate::model::Relation::Nothing,
    advisory: false,
    source: include_str!("encoder_wrap.rs"),
    cause: "the encoder's zero lies inside the work range",
    remedy: "move the zero out of the work range and calibrate again",
    reference: "common practice, no source",
    metrics: &[&WRAPS],
    params: &[],
};

/// The check; the head of this file is its manual.
pub static CHECK: Check = Check::of_episode(&SPEC, measure);

fn measure(study: &Study<'_>, _: &Params, sheet: &mut Sheet) {
    let half = std::f32::consts::PI * (1.0 - 1e-6);
    for (joint, described) in study.joints().iter().enumerate() {
        if described.linear {
            continue;
        }
        let mut found = Vec::new();
        if study.steps().follower[joint] >= half {
            found.extend(jumps(study.state(joint), half));
        }
        if let Some(leader) = study.action(joint)
            && study.steps().leader[joint] >= half
        {
            found.extend(jumps(leader, half));
        }
        let count = found.len() as f64;
        sheet.put_spans(&WRAPS, Some(joint as JointId), count, SpanList::worst(found));
    }
}

fn jumps(values: &[f32], half: f32) -> impl Iterator<Item = (FrameSpan, f64)> {
    let size = |pair: &[f32]| (pair[1] - pair[0]).abs();
    let large = move |(row, pair): (usize, &[f32])| {
        let size = size(pair);
        (size >= half).then(|| (FrameSpan::new(row, row + 2), f64::from(size)))
    };
    values.windows(2).enumerate().filter_map(large)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::testing::{Bench, sway};
    use std::f64::consts::{PI, TAU};

    fn wrapped(angle: f64) -> f64 {
        (angle + PI).rem_euclid(TAU) - PI
    }

    #[test]
    fn each_passage_of_the_zero_is_a_jump_on_both_arms() {
        for rate_hz in [25.0, 30.0, 50.0, 100.0, 200.0] {
            let near = |joint: usize, t: f64| {
                if joint == 0 { wrapped(PI + sway(0, t)) } else { sway(joint, t) }
            };
            // From a quarter of a turn ahead: 0.4 Hz for 10 s pass the middle 8 times, and the
            // follower, 80 ms behind, 8 times too.
            let bench = Bench::at(rate_hz)
                .frames((10.0 * rate_hz) as usize)
                .leader(move |joint, t| near(joint, t + 0.625))
                .measure(&CHECK);
            assert_eq!(bench.joint("wraps", 0), 16.0, "{rate_hz} Hz");
            assert_eq!(bench.joint("wraps", 1), 0.0);
        }
    }
}
