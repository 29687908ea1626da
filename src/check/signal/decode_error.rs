//! Sensor counts whose sign was read wrongly: a small negative number looks like a huge one.
//!
//! The joint seems to jump by many turns as it passes its zero; no scaling of the data survives
//! that.
//!
//! How: on tables of counts only. Servos send negative numbers with a sign bit (of weight 2048 or
//! 32768) or in two's complement of 16 bits. Frames are counted that follow a jump from a number
//! below 256 to the sign bit's weight plus as little, or to 65536 less as little, until the jump
//! back; and numbers near 32768 or 65535 that lie more than four turns out.
//!
//! Traps: 2048 is the middle of a sensor of 12 bits: without the jump from near zero it means
//! nothing. A plain wrap of the sensor (by its own counts a turn) is left to encoder-wrap. Tables
//! in degrees or radians do not hold what the servo sent: not assessable.

use crate::check::prelude::{Check, Params, Study};
use crate::model::{
    AngleUnit, CheckSpec, Family, FrameSpan, JointId, Metric, Sheet, SpanList, Unit,
};

/// How far beyond the sign bit a misread small number may lie.
const SMALL: f64 = 256.0;

static MISREAD: Metric =
    Metric::of_joint("misread", Unit::Count, "readings whose sign was read wrongly")
        .above(None, Some(0.0))
        .recovery("decode the stored numbers again with their sign bit");

static SPEC: CheckSpec = CheckSpec {
    id: "decode-error",
    family: Family::Signal,
    applies_to: crate::model::SignalKind::JOINTS,
    needs: crate::model::Relation::Nothing,
    advisory: false,
    source: include_str!("decode_error.rs"),
    cause: "the sign bit of the servo's number was read as part of its size",
    remedy: "decode the sign bit (or two's complement) as the servo's manual says",
    reference: "common practice, no source",
    metrics: &[&MISREAD],
    params: &[],
};

/// The check; the head of this file is its manual.
pub static CHECK: Check = Check::of_episode(&SPEC, measure);

fn measure(study: &Study<'_>, _: &Params, sheet: &mut Sheet) {
    let AngleUnit::Counts { per_turn } = study.episode.rig.unit else {
        let unit = study.episode.rig.unit.name();
        return sheet.not_assessed(format!("stored in {unit}, needs the servo's own counts"));
    };
    let to_counts = 1.0 / study.episode.rig.unit.to_radian();
    for (joint, described) in study.joints().iter().enumerate() {
        if described.linear {
            continue;
        }
        let mut found = Vec::new();
        let mut look = |values: &[f32], largest: f32| {
            let first = values.first().map_or(0.0, |v| f64::from(*v) * to_counts);
            // Nothing jumps and nothing lies far out: most joints end here.
            if f64::from(largest) * to_counts > 1500.0 || first > 4.0 * per_turn {
                misread(values, to_counts, per_turn, &mut found);
            }
        };
        look(study.state(joint), study.steps().follower[joint]);
        if let Some(leader) = study.action(joint) {
            look(leader, study.steps().leader[joint]);
        }
        let count: usize = found.iter().map(|span: &FrameSpan| span.frames()).sum();
        let spans = SpanList::longest(found);
        sheet.put_spans(&MISREAD, Some(joint as JointId), count as f64, spans);
    }
}

fn misread(values: &[f32], to_counts: f64, per_turn: f64, found: &mut Vec<FrameSpan>) {
    // Where misread numbers lie: lowest and highest.
    let places = [(2048.0, 2048.0, 2048.0 + SMALL), (32768.0, 32768.0, 32768.0 + SMALL)];
    let complement = (65536.0, 65536.0 - SMALL, 65536.0);
    let places: Vec<(f64, f64)> = places
        .into_iter()
        .chain([complement])
        .filter(|(weight, ..)| (weight - per_turn).abs() > 1.0)
        .map(|(_, low, high)| (low, high))
        .collect();
    let place = |counts: f64| places.iter().find(|(low, high)| (*low..=*high).contains(&counts));
    let far = |counts: f64| counts > 4.0 * per_turn;
    let mut begun: Option<(usize, (f64, f64))> = None;
    let mut before = f64::NAN;
    for (row, value) in values.iter().enumerate() {
        let counts = (f64::from(*value) * to_counts).round();
        begun = match (begun, place(counts)) {
            (None, Some(place)) if far(counts) || (0.0..SMALL).contains(&before) => {
                Some((row, *place))
            }
            (Some((start, within)), _) if !(within.0..=within.1).contains(&counts) => {
                // A number that grows beyond the small ones is still misread: wait for the jump.
                if (before - counts).abs() > 1000.0 {
                    found.push(FrameSpan::new(start, row));
                    None
                } else {
                    Some((start, within))
                }
            }
            (begun, _) => begun,
        };
        before = counts;
    }
    if let Some((start, _)) = begun {
        found.push(FrameSpan::new(start, values.len()));
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::testing::{Bench, sway};

    const UNIT: AngleUnit = AngleUnit::Counts { per_turn: 4096.0 };

    /// Joint 0 in counts about `centre`, its negative numbers stored as `misread` makes them.
    fn stored(rate_hz: f64, centre: f64, misread: fn(f64) -> f64) -> Bench {
        let to_radian = UNIT.to_radian();
        let encode = move |joint: usize, t: f64| {
            let counts = centre + (0.3 * sway(joint, t) / to_radian).round();
            (if counts < 0.0 { misread(counts) } else { counts }) * to_radian
        };
        Bench::at(rate_hz)
            .seconds(10.0)
            .leader(|joint, t| 0.3 * sway(joint, t))
            .follower(encode)
            .rig(|rig| rig.unit = UNIT)
    }

    #[test]
    fn misread_signs_are_counted() {
        let ways: [fn(f64) -> f64; 3] = [|n| 2048.0 - n, |n| 32768.0 - n, |n| 65536.0 + n];
        for rate_hz in [25.0, 30.0, 50.0, 100.0, 200.0] {
            for way in ways {
                let bench = stored(rate_hz, 0.0, way).measure(&CHECK);
                let share = bench.joint("misread", 0) / (10.0 * rate_hz);
                assert!((share - 0.5).abs() < 0.03, "{rate_hz} Hz: {share}");
            }
        }
    }

    #[test]
    fn the_middle_of_the_sensor_is_no_fault() {
        for centre in [2048.0, 0.0, 4000.0] {
            let bench = stored(30.0, centre, |n| n).measure(&CHECK);
            assert_eq!(bench.joint("misread", 0), 0.0, "{centre}");
        }
    }

    #[test]
    fn degrees_do_not_hold_what_the_servo_sent() {
        assert!(Bench::at(30.0).measure(&CHECK).is_not_assessed("needs the servo's own counts"));
    }
}
