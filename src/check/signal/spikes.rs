//! Single wrong readings: a bit error on the bus throws a value far off for one or two frames.
//!
//! One such value stretches the range that a training run scales by, and is a jump to whatever
//! follows the recording.
//!
//! How: a reading is a spike if the value itself goes out and comes back within two frames, and if
//! each way, after the motion of the neighbours has been taken out, is more than 5 degrees (10 mm
//! for a linear joint, a twentieth of a gripper's travel), 8 times the median absolute deviation of the steps around it, and the
//! longest other step within a second of it. The values on both sides lie on one line. Counted on
//! the follower and on the leader.
//!
//! Traps: a fast joint makes large steps in one direction: it does not come back. A jump that stays
//! (a reset, a lost stretch) is no spike. Half a turn and more is left to encoder-wrap. A column of
//! two values (an open or closed gripper) has steps and no spikes. A quick motion out and back takes
//! 0.4 s: where that is fewer than 6 frames (below 15 Hz) it looks like a spike, so this is not
//! assessable there. From 15 Hz on a spike of one or two frames is seen at any rate: of 133 ms at
//! 15 Hz, 20 ms at 100 Hz, 2 ms at 1,000 Hz. Longer ones are not looked for.

use crate::check::prelude::{Check, Params, Study};
use crate::model::{CheckSpec, Family, FrameSpan, JointId, Metric, Param, Sheet, SpanList, Unit};
use crate::num::robust::median_mad;
use crate::num::wide::{any, eight_fn, eight_from};

const LEAST_DEG: f64 = 5.0;
const DEVIATIONS: f64 = 8.0;
/// Steps on either side of a spike whose scatter is looked at.
const AROUND: usize = 4;
/// Share of a gripper's travel.
const TRAVEL: f32 = 0.05;
/// Of the smallest spike the raw values must go out and come back by at least this share.
const RAW: f32 = 0.5;
/// Frames that a quick motion must take, so as not to be taken for a spike.
const RESOLVED: f64 = 6.0;
/// Other steps are looked at this long before and after a spike.
const NEARBY_S: f64 = 1.0;
/// A column with so few values, or so many readings at two of them, is a switch.
const FEW_VALUES: usize = 4;
const AT_TWO: f64 = 0.98;
/// With more values than this it is none.
const MOST_VALUES: usize = 64;

static SPIKES: Metric =
    Metric::of_joint("spikes", Unit::Count, "readings that jump out and back, leader and follower")
        .above(Some(0.0), None);
static SPIKE_SHARE: Metric =
    Metric::of_joint("spike_share", Unit::Share, "their share of the frames")
        .above(None, Some(0.003));

static SHORTEST_MOVE: Param = Param {
    id: "shortest_move_s",
    summary: "the quickest sound motion out and back",
    unit: Unit::Second,
    default: 0.4,
};

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
    params: &[&SHORTEST_MOVE],
};

/// The check; the head of this file is its manual.
pub static CHECK: Check = Check::of_episode(&SPEC, measure);

fn measure(study: &Study<'_>, params: &Params, sheet: &mut Sheet) {
    let frames = study.episode.frames();
    if frames < 6 {
        return sheet.not_assessed("fewer than 6 frames");
    }
    let quick_s = params.get(&SPEC, &SHORTEST_MOVE);
    let period_s = study.period_s();
    // A rate that is right but for its jitter is right.
    if let Some(slow_s) = period_s.filter(|period_s| quick_s < 0.99 * RESOLVED * period_s) {
        return sheet.not_assessed(format!(
            "at {:.1} Hz a quick motion of {quick_s} s takes {:.1} frames, needs {RESOLVED}",
            1.0 / slow_s,
            quick_s / slow_s
        ));
    }
    let nearby = period_s.map_or(frames, |period_s| (NEARBY_S / period_s).ceil() as usize);
    for joint in 0..study.joints().len() {
        let linear = study.joints()[joint].linear;
        let most = if linear { f32::INFINITY } else { std::f32::consts::PI };
        let mut found = Vec::new();
        let least = study.size(joint, LEAST_DEG) as f32;
        if study.steps().follower[joint] > least {
            let smallest = smallest(study, joint, study.state_range(joint));
            spikes(study.state(joint), smallest, most, nearby, &mut found);
        }
        if let (Some(leader), Some(range)) = (study.action(joint), study.action_range(joint))
            && study.steps().leader[joint] > least
        {
            spikes(leader, smallest(study, joint, range), most, nearby, &mut found);
        }
        let count = found.len() as f64;
        let spans = SpanList::worst(found);
        let at = Some(joint as JointId);
        sheet.put_spans(&SPIKES, at, count, spans.clone());
        sheet.put_spans(&SPIKE_SHARE, at, count / frames as f64, spans);
    }
}

/// Size of the smallest spike of a signal with this range. A gripper may be in a unit of its own
/// (percent, 0 to 255), so a share of its travel is asked for as well.
fn smallest(study: &Study<'_>, joint: usize, (low, high): (f32, f32)) -> f32 {
    let degrees = study.size(joint, LEAST_DEG) as f32;
    if study.joints()[joint].gripper { degrees.max(TRAVEL * (high - low)) } else { degrees }
}

/// Places at which the values jump out and back within two frames, with the size of the jump, which
/// is larger than any other step nearby.
fn spikes(
    values: &[f32],
    smallest: f32,
    most: f32,
    nearby: usize,
    found: &mut Vec<(FrameSpan, f64)>,
) {
    if !may_jump(values, RAW * smallest) {
        return;
    }
    let jumps = jumps(values, smallest, most);
    if jumps.is_empty() || is_switch(values) {
        return;
    }
    // The step before row `r` belongs to a jump from `at` to `end` if `at <= r <= end`.
    let in_jump = |row: usize| jumps.iter().any(|(at, end, _)| (*at..=*end).contains(&row));
    for &(at, end, size) in &jumps {
        let first = at.saturating_sub(nearby).max(1);
        let last = (end + nearby).min(values.len() - 1);
        let others = (first..=last).filter(|row| !in_jump(*row));
        let steps = others.map(|row| (values[row] - values[row - 1]).abs());
        // A wrap, and what is left of one, is no motion.
        let longest = steps.filter(|step| *step < most).fold(0.0, f32::max);
        if size > longest {
            found.push((FrameSpan::new(at, end), f64::from(size)));
        }
    }
}

/// Whether these are the values of a switch: a gripper that is open or closed.
fn is_switch(values: &[f32]) -> bool {
    let mut kinds: Vec<(u32, usize)> = Vec::new();
    for value in values.iter().map(|value| value.to_bits()) {
        match kinds.iter().position(|(kind, _)| *kind == value) {
            Some(at) => kinds[at].1 += 1,
            None if kinds.len() < MOST_VALUES => kinds.push((value, 1)),
            None => return false,
        }
    }
    kinds.sort_unstable_by_key(|(_, count)| std::cmp::Reverse(*count));
    let at_two: usize = kinds.iter().take(2).map(|(_, count)| count).sum();
    kinds.len() <= FEW_VALUES || at_two as f64 >= AT_TWO * values.len() as f64
}

eight_fn! {
    /// Whether anything goes out by more than this and comes back as far one or two steps later: what
    /// every jump does, and next to no motion.
    fn may_jump<'a>(simd, values: &'a [f32], least: f32) -> bool {
        let (out, back) = (simd.splat_f32s(least), simd.splat_f32s(-least));
        for first in (1..values.len().saturating_sub(2)).step_by(8) {
            let before = eight_from(values, first - 1);
            let now = eight_from(values, first);
            let next = eight_from(values, first + 1);
            let then = eight_from(values, first + 2);
            let step = simd.sub_f32s(now, before);
            let (later, last) = (simd.sub_f32s(next, now), simd.sub_f32s(then, next));
            let (up, down) = (simd.greater_than_f32s(step, out), simd.less_than_f32s(step, back));
            let later_up = simd.greater_than_f32s(later, out);
            let last_up = simd.greater_than_f32s(last, out);
            let later_down = simd.less_than_f32s(later, back);
            let last_down = simd.less_than_f32s(last, back);
            let falls = simd.and_m32s(up, simd.or_m32s(later_down, last_down));
            let rises = simd.and_m32s(down, simd.or_m32s(later_up, last_up));
            if any(simd.or_m32s(falls, rises)) {
                return true;
            }
        }
        false
    }
}

/// First row, row after the last, and size of everything that goes out and comes back.
fn jumps(values: &[f32], smallest: f32, most: f32) -> Vec<(usize, usize, f32)> {
    let mut found = Vec::new();
    let mut at = 2;
    while at + 2 < values.len() {
        if (values[at] - values[at - 1]).abs() <= RAW * smallest {
            at += 1;
            continue;
        }
        let jump = [1, 2].into_iter().find_map(|length| {
            jump(values, at, length, smallest)
                .filter(|size| *size < most)
                .map(|size| (length, size))
        });
        if let Some((length, size)) = jump {
            found.push((at, at + length, size));
            at += length;
        }
        at += 1;
    }
    found
}

/// Size of the jump of `length` frames from `at` on, if it is one.
fn jump(values: &[f32], at: usize, length: usize, smallest: f32) -> Option<f32> {
    let end = at + length;
    let after = values.get(end + 1)? - values[end];
    let before = values[at - 1] - values[at - 2];
    let usual = f32::midpoint(before, after);
    let (raw_out, raw_back) = (values[at] - values[at - 1], values[end] - values[end - 1]);
    if raw_out * raw_back >= 0.0 || raw_out.abs().min(raw_back.abs()) <= RAW * smallest {
        return None;
    }
    let (out, back) = (raw_out - usual, raw_back - usual);
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

    /// A jaw that closes by 54 degrees and opens again, each along a logistic of this length from
    /// 1 % to 99 %.
    fn jaw(length_s: f64, begins_s: f64) -> impl Fn(usize, f64) -> f64 {
        move |joint, t| {
            let logistic =
                |from: f64| 1.0 / (1.0 + (-(t - from - length_s / 2.0) / length_s * 9.19).exp());
            let closed = logistic(begins_s) - logistic(begins_s + 2.0);
            if joint == 1 { (60.0 - 54.0 * closed).to_radians() } else { sway(joint, t) }
        }
    }

    #[test]
    fn a_jaw_that_closes_in_a_few_frames_does_not_spike() {
        for (rate_hz, length_s) in [(20.0, 0.1), (30.0, 0.1), (20.0, 0.3), (30.0, 0.3), (15.0, 0.1)]
        {
            for phase in 0..80 {
                let jaw = jaw(length_s, 3.0 + f64::from(phase) / 80.0 / rate_hz);
                let bench = Bench::at(rate_hz).seconds(8.0).leader(jaw).measure(&CHECK);
                assert_eq!(bench.joint("spikes", 1), 0.0, "{rate_hz} Hz {length_s} s {phase}");
            }
        }
    }

    #[test]
    fn a_gripper_of_two_values_has_steps_and_no_spikes() {
        for rate_hz in [20.0, 30.0, 100.0] {
            // Closed for a single frame now and then: a switch that was tapped.
            let tapped = move |joint: usize, t: f64| {
                let row = (t * rate_hz).round() as i64;
                if joint == 0 { sway(0, t) } else { f64::from(u8::from(row % 40 == 7)) }
            };
            let bench = Bench::at(rate_hz).seconds(8.0).leader(tapped).follower(tapped);
            assert_eq!(bench.measure(&CHECK).joint("spikes", 1), 0.0, "{rate_hz} Hz");
        }
    }

    /// A jaw in counts of 0 to 255, read as radians: a count to and fro is nothing.
    #[test]
    fn a_gripper_in_a_unit_of_its_own_does_not_spike_by_a_count() {
        let counts = |joint: usize, t: f64| {
            let row = (t * 30.0).round() as i64;
            let flicker = if row % 23 == 11 { 1.0 } else { 0.0 };
            let jaw = 200.0 - 150.0 * ((t - 3.0) / 0.6).clamp(0.0, 1.0);
            if joint == 1 { jaw.round() + flicker } else { sway(0, t) }
        };
        let bench = Bench::at(30.0).seconds(8.0).leader(counts).follower(counts);
        let bench = bench.rig(|rig| rig.joints[1].gripper = true).measure(&CHECK);
        assert_eq!(bench.joint("spikes", 1), 0.0, "{bench:?}");
    }

    /// What the manual states: one and two frames are seen at any rate from 15 Hz on.
    #[test]
    fn the_resolution_of_the_manual_holds() {
        for rate_hz in [15.0, 30.0, 100.0, 500.0, 1000.0] {
            let bench = jumping(rate_hz, &[50, 90, 91, 140], 20.0).measure(&CHECK);
            assert_eq!(bench.joint("spikes", 0), 3.0, "{rate_hz} Hz");
        }
        for rate_hz in [5.0, 10.0, 14.0] {
            let bench = jumping(rate_hz, &[30], 12.0).measure(&CHECK);
            assert!(bench.missing("spikes") && bench.is_not_assessed("needs 6"), "{rate_hz} Hz");
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
            spikes(&padded, 20.0, f32::INFINITY, padded.len(), &mut found);
            let at: Vec<usize> = found.iter().map(|(span, _)| span.start as usize - 8).collect();
            assert_eq!(at, expected, "{vector:?}");
        }
    }
}
