//! A follower that hunts: it swings about its target while the leader holds still.
//!
//! The policy sees an unrest that no command explains; gears wear, and the gripper shakes what it
//! holds.
//!
//! How: windows of 0.6 s in which the leader's joint covers no more than 0.5 degrees (1 mm) or 3
//! counts, and did so for 0.4 s before. There the follower swings if, less its mean, it crosses
//! zero as often as 3 to 15 Hz would. Read is the largest swing, peak to peak, that two windows
//! without overlap reach. It sees up to 4 Hz at 10 Hz, 12 Hz at 30 Hz, and 15 Hz from 100 to 1,000 Hz,
//! where that lasts 1.3 s.
//!
//! Traps: a follower that settles does not swing back and forth. Above half the frame rate nothing
//! is seen, and at 30 Hz a swing of more than 15 Hz looks slower. A leader that never holds still
//! leaves nothing to look at: not assessable.

use crate::check::prelude::{Check, Params, Study};
use crate::check::study::{Blocks, spread};
use crate::model::{CheckSpec, Family, FrameSpan, JointId, Metric, Sheet, SpanList, Unit};

const WINDOW_S: f64 = 0.6;
const BEFORE_S: f64 = 0.4;
const BAND_HZ: (f64, f64) = (3.0, 15.0);

static HUNTING: Metric = Metric::of_joint(
    "hunting",
    Unit::Radian,
    "peak to peak of the follower's swing while the leader holds still",
)
.above(Some(1f64.to_radians()), Some(3f64.to_radians()));

static SPEC: CheckSpec = CheckSpec {
    id: "limit-cycle",
    family: Family::Signal,
    applies_to: crate::model::SignalKind::MOVING,
    needs: crate::model::Relation::Motion,
    advisory: true,
    source: include_str!("limit_cycle.rs"),
    cause: "the servo's gains are too high for its load and backlash",
    remedy: "lower the P or D gain of that joint",
    reference: "common practice, no source",
    metrics: &[&HUNTING],
    params: &[],
};

/// The check; the head of this file is its manual.
pub static CHECK: Check = Check::of_episode(&SPEC, measure);

fn measure(study: &Study<'_>, _: &Params, sheet: &mut Sheet) {
    let Some(blocks) = study.blocks() else { return sheet.not_assessed("no frame period") };
    if study.episode.action.is_none() {
        return sheet.not_assessed("no leader column");
    }
    let mut held = false;
    for (joint, described) in study.joints().iter().enumerate() {
        if described.linear {
            continue;
        }
        let Some(found) = swings(study, blocks, joint) else { continue };
        held = true;
        // A single window may be a knock.
        let size = if found.len() < 2 { 0.0 } else { found[1].1 };
        let spans = SpanList::worst(if found.len() < 2 { Vec::new() } else { found });
        sheet.put_spans(&HUNTING, Some(joint as JointId), size, spans);
    }
    if !held {
        sheet.not_assessed("the leader never holds still for a second");
    }
}

/// Swings of a joint, the largest first; `None` if its leader is never still.
fn swings(study: &Study<'_>, blocks: &Blocks, joint: usize) -> Option<Vec<(FrameSpan, f64)>> {
    let (window, before) = (blocks.in_seconds(WINDOW_S), blocks.in_seconds(BEFORE_S));
    let leader = blocks.leader(joint)?;
    let follower = blocks.follower(joint);
    let still = study.at_least(joint, 3.0, 0.5) as f32;
    let mut held = false;
    let mut found = Vec::new();
    let mut at = before;
    while at + window <= blocks.count {
        let blocks_here = &leader[at - before..at + window];
        if let Some(loud) = last_loud(blocks_here, still) {
            // No window that holds this block and those behind it is quiet.
            at += loud + 1;
            continue;
        }
        let quiet = spread(blocks_here);
        held = true;
        let size = spread(&follower[at..at + window]);
        if size > still.max(2.0 * quiet) {
            let start = at * blocks.frames;
            let end = ((at + window) * blocks.frames).min(study.episode.frames());
            let seconds = (end - start) as f64 * blocks.length_s / blocks.frames as f64;
            let hertz = crossings(&study.state(joint)[start..end]) as f64 / (2.0 * seconds);
            if (BAND_HZ.0..=BAND_HZ.1).contains(&hertz) {
                found.push((FrameSpan::new(start, end), f64::from(size)));
            }
        }
        at += window;
    }
    found.sort_by(|a, b| b.1.total_cmp(&a.1));
    held.then_some(found)
}

/// The last block from which on, to the end, the leader covers more than this; none where it is
/// still throughout.
fn last_loud(blocks: &[(f32, f32)], still: f32) -> Option<usize> {
    let (mut low, mut high) = (f32::INFINITY, f32::NEG_INFINITY);
    blocks.iter().rposition(|block| {
        low = if block.0 < low { block.0 } else { low };
        high = if block.1 > high { block.1 } else { high };
        high - low > still
    })
}

/// How often the values cross the line that is as far from the smallest as from the largest.
fn crossings(values: &[f32]) -> usize {
    let (low, high) = crate::check::study::range(values);
    let middle = f32::midpoint(low, high);
    // A reading must clear the middle by a quarter of the swing: flicker of a count does not count.
    let clear = 0.125 * (high - low);
    let mut side = 0i8;
    let mut count = 0;
    for value in values {
        let now = if *value > middle + clear {
            1
        } else if *value < middle - clear {
            -1
        } else {
            side
        };
        count += usize::from(side != 0 && now != side);
        side = now;
    }
    count
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::testing::{Bench, sway};
    use std::f64::consts::TAU;

    /// Leader on its way for 4 s, then still; joint 0 of the follower swings by `deg` there.
    fn hunting(rate_hz: f64, deg: f64, hertz: f64) -> Bench {
        let leader = |joint: usize, t: f64| sway(joint, t.min(4.0));
        Bench::at(rate_hz).seconds(9.0).leader(leader).follower(move |joint, t| {
            let swing =
                if joint == 0 && t > 4.0 { deg / 2.0 * (TAU * hertz * t).sin() } else { 0.0 };
            leader(joint, t - 0.08) + swing.to_radians()
        })
    }

    #[test]
    fn a_swing_is_read_with_its_size() {
        for rate_hz in [25.0, 30.0, 50.0, 100.0, 200.0] {
            let bench = hunting(rate_hz, 2.0, 5.3).measure(&CHECK);
            let read = bench.joint("hunting", 0).to_degrees();
            assert!((read - 2.0).abs() < 0.15, "{rate_hz} Hz: {read}");
            assert_eq!(bench.joint("hunting", 1), 0.0);
        }
    }

    /// The fastest swing that is seen at each rate, as the manual states it.
    #[test]
    fn it_sees_what_its_manual_says() {
        let stated = [(10.0, 4.0), (30.0, 12.0), (100.0, 14.7), (500.0, 14.7), (1000.0, 14.7)];
        for (rate_hz, hertz) in stated {
            for hertz in [3.3, hertz] {
                let read = hunting(rate_hz, 2.0, hertz).measure(&CHECK).joint("hunting", 0);
                assert!(read.to_degrees() > 1.0, "{rate_hz} Hz, {hertz} Hz: {read}");
            }
        }
    }

    #[test]
    fn settling_and_a_trembling_hand_are_no_hunting() {
        for rate_hz in [25.0, 30.0, 50.0, 100.0, 200.0] {
            // Tremor of 0.15 degrees at 9 Hz, which the follower copies in part.
            let hand = |joint: usize, t: f64| {
                sway(joint, t.min(4.0)) + (0.15 * (TAU * 9.0 * t).sin()).to_radians()
            };
            let bench = Bench::at(rate_hz).seconds(9.0).leader(hand).measure(&CHECK);
            assert_eq!(bench.joint("hunting", 0), 0.0, "{rate_hz} Hz");
        }
        let restless = Bench::at(30.0).seconds(9.0).measure(&CHECK);
        assert!(restless.is_not_assessed("never holds still"));
    }
}
