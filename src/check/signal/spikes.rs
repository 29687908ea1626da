//! Single wrong readings: a bit error on the bus throws a value far off for one or two frames.
//!
//! One such value stretches the range that a training run scales by, and is a jump to whatever
//! follows the recording.
//!
//! How: a reading is a spike if it goes out and comes back within two frames, each way by more than
//! 5 degrees (10 mm for a linear joint) and 8 times the median absolute deviation of the steps
//! around it, after the motion of the neighbours has been taken out, and the values on both
//! sides lie on one line. Counted on the follower and on the leader.
//!
//! Traps: a fast joint makes large steps in one direction: it does not come back. A jump that stays
//! (a reset, a lost stretch) is no spike. Half a turn and more is left to encoder-wrap.

use crate::check::prelude::{Check, Params, Study};
use crate::model::{CheckSpec, Family, FrameSpan, JointId, Metric, Sheet, SpanList, Unit};
use crate::num::robust::median_mad;

const LEAST_DEG: f64 = 5.0;
const DEVIATIONS: f64 = 8.0;
/// Steps on either side of a spike whose scatter is looked at.
const AROUND: usize = 4;

static SPIKES: Metric =
    Metric::of_joint("spikes", Unit::Count, "readings that jump out and back, leader and follower")
        .above(Some(0.0), None);
static SPIKE_SHARE: Metric =
    Metric::of_joint("spike_share", Unit::Share, "their share of the frames")
        .above(None, Some(0.003));

static SPEC: CheckSpec = CheckSpec {
    id: "spikes",
    family: Family::Signal,
    applies_to: crate::model::SignalKind::MOVING,
    needs: crate::model::Relation::Nothing,
    advisory: false,
    source: include_str!("spikes.rs"),
    cause: "bit errors on the servo bus",
    remedy: "look at cables and connectors of the bus and at its power; log a failed checksum as missing",
    reference: "Hampel's rule (median and MAD of a short window) on steps; limits: common practice, no source",
    metrics: &[&SPIKES, &SPIKE_SHARE],
    params: &[],
};

/// The check; the head of this file is its manual.
pub static CHECK: Check = Check::of_episode(&SPEC, measure);

fn measure(study: &Study<'_>, _: &Params, sheet: &mut Sheet) {
    let frames = study.episode.frames();
    if frames < 6 {
        return sheet.not_assessed("fewer than 6 frames");
    }
    for joint in 0..study.joints().len() {
        let smallest = study.size(joint, LEAST_DEG) as f32;
        let linear = study.joints()[joint].linear;
        let most = if linear { f32::INFINITY } else { std::f32::consts::PI };
        let mut found = Vec::new();
        if study.steps().follower[joint] > smallest {
            spikes(study.state(joint), smallest, most, &mut found);
        }
        if let Some(leader) = study.action(joint)
            && study.steps().leader[joint] > smallest
        {
            spikes(leader, smallest, most, &mut found);
        }
        let count = found.len() as f64;
        let spans = SpanList::worst(found);
        let at = Some(joint as JointId);
        sheet.put_spans(&SPIKES, at, count, spans.clone());
        sheet.put_spans(&SPIKE_SHARE, at, count / frames as f64, spans);
    }
}

/// Places at which the values jump out and back within two frames, with the size of the jump.
fn spikes(values: &[f32], smallest: f32, most: f32, found: &mut Vec<(FrameSpan, f64)>) {
    let mut at = 2;
    while at + 2 < values.len() {
        if (values[at] - values[at - 1]).abs() <= smallest {
            at += 1;
            continue;
        }
        let jump = [1, 2].into_iter().find_map(|length| {
            jump(values, at, length, smallest)
                .filter(|size| *size < most)
                .map(|size| (length, size))
        });
        if let Some((length, size)) = jump {
            found.push((FrameSpan::new(at, at + length), f64::from(size)));
            at += length;
        }
        at += 1;
    }
}

/// Size of the jump of `length` frames from `at` on, if it is one.
fn jump(values: &[f32], at: usize, length: usize, smallest: f32) -> Option<f32> {
    let end = at + length;
    let after = values.get(end + 1)? - values[end];
    let before = values[at - 1] - values[at - 2];
    let usual = f32::midpoint(before, after);
    let out = values[at] - values[at - 1] - usual;
    let back = values[end] - values[end - 1] - usual;
    let size = out.abs().min(back.abs());
    let rest = values[end] - values[at - 1] - (length + 1) as f32 * usual;
    if size <= smallest || out * back >= 0.0 || rest.abs() > 0.5 * size {
        return None;
    }
    let around = |from: usize, to: usize| values[from..to].windows(2).map(|p| p[1] - p[0]);
    let steps: Vec<f32> = around(at.saturating_sub(AROUND + 1), at)
        .chain(around(end, (end + AROUND + 1).min(values.len())))
        .collect();
    let (_, mad) = median_mad(&steps);
    (f64::from(size) > DEVIATIONS * mad).then_some(size)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::testing::{Bench, sway};

    /// Joint 0 jumps by `deg` in the frames whose index is given, at a rate of `rate_hz`.
    fn jumping(rate_hz: f64, frames: &'static [usize], deg: f64) -> Bench {
        Bench::at(rate_hz).seconds(12.0).follower(move |joint, t| {
            let frame = (t * rate_hz).round() as usize;
            let jump = if joint == 0 && frames.contains(&frame) { deg } else { 0.0 };
            sway(joint, t - 0.08) + jump.to_radians()
        })
    }

    #[test]
    fn jumps_of_one_and_two_frames_are_counted_and_placed() {
        for rate_hz in [25.0, 30.0, 50.0, 100.0, 200.0] {
            let bench = jumping(rate_hz, &[50, 90, 91, 140], 12.0).measure(&CHECK);
            assert_eq!(bench.joint("spikes", 0), 3.0, "{rate_hz} Hz");
            assert_eq!(bench.joint_spans("spikes", 0), [(50, 51), (90, 92), (140, 141)]);
            assert_eq!(bench.joint("spikes", 1), 0.0);
        }
    }

    #[test]
    fn fast_motion_and_a_jump_that_stays_are_no_spikes() {
        for rate_hz in [25.0, 30.0, 50.0, 100.0, 200.0] {
            // Up to 350 degrees a second, and at 6 s a jump of 20 degrees for good.
            let fast = |_: usize, t: f64| {
                let jump: f64 = if t > 6.0 { 20.0 } else { 0.0 };
                (jump + 70.0 * (5.0 * t).sin()).to_radians()
            };
            let bench = Bench::at(rate_hz).seconds(12.0).leader(fast).measure(&CHECK);
            assert_eq!(bench.joint("spikes", 0), 0.0, "{rate_hz} Hz {bench:?}");
        }
    }

    #[test]
    fn jumps_smaller_than_five_degrees_are_left_alone() {
        let bench = jumping(30.0, &[50, 90], 4.5).measure(&CHECK);
        assert_eq!(bench.joint("spikes", 0), 0.0);
    }

    /// QARTOD's spike test, vectors `spike_neg`, `spike_masked` (as far as it has no gap) and
    /// `spike_ends` of `ioos_qc` 3.0.0 (`fixtures/reference/qartod_vectors.json`). It flags the
    /// neighbours of a spike too; here the spike alone is named, and nothing that it does not flag.
    #[test]
    fn what_qartod_calls_a_spike_is_one() {
        let cases: [(&[f32], &[usize]); 3] = [
            (&[-10.0, -12.0, -999.99, -13.0, -15.0, -40.0, -9.0, -9.0], &[2, 5]),
            (&[10.0, 12.0, 999.99, 13.0, 15.0, 40.0, 9.0, 9.0], &[2, 5]),
            (&[-100.0, -99.0, -99.0, -98.0], &[]),
        ];
        for (vector, expected) in cases {
            // Something to see the scatter by, before and after.
            let (first, last) = (vector[0], vector[vector.len() - 1]);
            let calm = |value: f32| (0..8).map(move |i| value + (i % 2) as f32);
            let padded: Vec<f32> =
                calm(first).chain(vector.iter().copied()).chain(calm(last)).collect();
            let mut found = Vec::new();
            spikes(&padded, 20.0, f32::INFINITY, &mut found);
            let at: Vec<usize> = found.iter().map(|(span, _)| span.start as usize - 8).collect();
            assert_eq!(at, expected, "{vector:?}");
        }
    }
}
