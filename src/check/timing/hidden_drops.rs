//! Lost frames that made stamps hide: the stamps were made from the frame index, so every stamp
//! looks right, but the hand moved twice as far in one of them.
//!
//! A policy learns how far the arm moves in one frame; here it sees jumps that never happened,
//! under a clock that swears to the contrary.
//!
//! How: looked for only where the stamps were made. A step of the leader, over all joints in counts
//! of their sensors, is a hidden drop if it is 1.6 to 2.6 times the mean of the steps before and
//! after along their direction (cosine above 0.95), the two agree within 35 % and are at least 6
//! counts long; all but one, as a share of the steps whose neighbours are so long and agree so
//! well: a single one may be a late frame that was caught up with slowly.
//!
//! Traps: a lower limit, never a rate: drops in slow motion, several in a row, or next to one another do not
//! show. A late frame is followed by a short step, so its neighbours disagree. Without 50 steps of
//! fast motion not assessable. Where stamps were measured, dropped-frames reads them directly. A single
//! lost frame shows at any rate at which the arm moves 6 counts in a frame: above some 50 Hz rarely.

use crate::check::prelude::{Check, Params, Study};
use crate::model::{CheckSpec, Family, FrameSpan, Metric, Sheet, SpanList, Unit, count};

const LEAST_COUNTS: f64 = 6.0;
const FEWEST: usize = 50;

static HIDDEN_SHARE: Metric = Metric::of_episode(
    "hidden_share",
    Unit::Share,
    "share of the fast steps that are as long as two, one left out",
)
.above(Some(0.002), None);
static HIDDEN: Metric =
    Metric::of_episode("hidden", Unit::Count, "fast steps that are as long as two");

static SPEC: CheckSpec = CheckSpec {
    id: "hidden-drops",
    family: Family::Timing,
    applies_to: crate::model::SignalKind::MOVING,
    needs: crate::model::Relation::Path,
    advisory: true,
    source: include_str!("hidden_drops.rs"),
    cause: "frames were lost before stamps were made from the frame index",
    remedy: "log a measured, monotonic clock; then as for dropped frames",
    reference: "rule as stated; no false alarm in 5,578 fast steps of simulated data without jitter",
    metrics: &[&HIDDEN_SHARE, &HIDDEN],
    params: &[],
};

/// The check; the head of this file is its manual.
pub static CHECK: Check = Check::of_episode(&SPEC, measure);

fn measure(study: &Study<'_>, _: &Params, sheet: &mut Sheet) {
    if !study.clock().synthetic {
        return;
    }
    let joints = study.joints().len();
    let leader: Vec<(&[f32], f64)> = (0..joints)
        .filter_map(|joint| Some((study.action(joint)?, 1.0 / study.count(joint))))
        .collect();
    if leader.is_empty() {
        return sheet.not_assessed("no leader column");
    }
    let frames = study.episode.frames();
    let (mut eligible, mut found) = (0usize, Vec::new());
    let mut steps = [vec![0.0; joints], vec![0.0; joints], vec![0.0; joints]];
    for row in 2..frames.saturating_sub(1) {
        for (joint, (values, counts)) in leader.iter().enumerate() {
            for (after, step) in steps.iter_mut().enumerate() {
                let end = row + after - 1;
                step[joint] = f64::from(values[end] - values[end - 1]) * counts;
            }
        }
        if let Some(ratio) = ratio(&steps) {
            eligible += 1;
            if (1.6..=2.6).contains(&ratio) {
                found.push((FrameSpan::new(row - 1, row + 1), ratio));
            }
        }
    }
    if eligible < FEWEST {
        return sheet
            .not_assessed(format!("{} of fast motion, needs {FEWEST}", count(eligible, "step")));
    }
    sheet.put(&HIDDEN, found.len() as f64);
    let share = found.len().saturating_sub(1) as f64 / eligible as f64;
    sheet.put_spans(&HIDDEN_SHARE, None, share, SpanList::worst(found));
}

/// Length of the middle step over the mean of its neighbours, along their direction; `None` where
/// the neighbours are too short or disagree. A step in another direction reads zero.
fn ratio([before, own, after]: &[Vec<f64>; 3]) -> Option<f64> {
    let dot = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(a, b)| a * b).sum::<f64>();
    let (first, last) = (dot(before, before).sqrt(), dot(after, after).sqrt());
    let mean = f64::midpoint(first, last);
    let alike = dot(before, after) > 0.95 * first * last;
    if first.min(last) < LEAST_COUNTS || !alike || (first - last).abs() > 0.35 * mean {
        return None;
    }
    let direction: Vec<f64> =
        before.iter().zip(after).map(|(a, b)| f64::midpoint(*a, *b)).collect();
    let length = dot(&direction, &direction).sqrt();
    let along = dot(own, &direction) / length;
    let straight = along > 0.95 * dot(own, own).sqrt();
    Some(if straight { along / length } else { 0.0 })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::testing::{Bench, jitter_s};

    /// Even stamps over rows of which some were lost before the stamps were made.
    fn made(rate_hz: f64, lost: &'static [usize]) -> Bench {
        let sweep = |joint: usize, t: f64| (joint as f64 + 1.0) * (1.2 * t).sin();
        let seen = move |t: f64| {
            let row = (t * rate_hz).round() as usize;
            let missing = lost.iter().filter(|gone| **gone <= row).count();
            t + missing as f64 / rate_hz
        };
        Bench::at(rate_hz)
            .frames(600)
            .leader(move |joint, t| sweep(joint, seen(t)))
            .moved_stamps(|_| 0.0)
    }

    #[test]
    fn steps_as_long_as_two_are_found_in_fast_motion() {
        for rate_hz in [25.0, 30.0, 50.0, 100.0] {
            // Well away from the turning points at 1.31 s and every 2.62 s after.
            let lost: &'static [usize] = match rate_hz as u32 {
                25 => &[60, 66, 130],
                30 => &[75, 80, 155],
                50 => &[130, 140, 265],
                _ => &[250, 270, 520],
            };
            let bench = made(rate_hz, lost).measure(&CHECK);
            assert_eq!(bench.value("hidden"), 3.0, "{rate_hz} Hz: {bench:?}");
            assert!(bench.value("hidden_share") > 0.002);
        }
    }

    #[test]
    fn whole_recordings_hide_nothing() {
        for rate_hz in [25.0, 30.0, 50.0, 100.0] {
            let bench = made(rate_hz, &[]).measure(&CHECK);
            assert_eq!(bench.value("hidden"), 0.0, "{rate_hz} Hz");
        }
    }

    #[test]
    fn measured_stamps_speak_for_themselves_and_slow_motion_says_nothing() {
        let measured = made(30.0, &[75]).moved_stamps(|row| jitter_s(row, 1e-3));
        assert!(measured.measure(&CHECK).readings.is_empty());
        let slow = Bench::at(30.0).frames(300).still().moved_stamps(|_| 0.0);
        assert!(slow.measure(&CHECK).is_not_assessed("needs 50"));
    }
}
