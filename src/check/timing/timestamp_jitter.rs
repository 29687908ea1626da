//! Stamps that wander about their schedule: operating system, USB latency, a busy processor.
//!
//! With jitter, the same hand motion gives different steps from frame to frame; the policy sees
//! it as noise on every speed.
//!
//! How: frame indices are repaired first (a step over k periods is held against k T, late frames
//! against their place in the schedule), so that a lost frame is not jitter. Then the 95th percentile
//! of |dt - median dt|, also as a share of T; in addition the rms and the 99th percentile of the
//! cycle-to-cycle change, and what the jitter is worth in radians at the 95th percentile of the
//! fastest joint's speed (a line over at least 100 ms, never a frame difference). The clock's own
//! median, minimum, maximum and standard deviation (n - 1) of steps are given as they are, nothing
//! repaired. The share takes T as at least 10 ms, so that the limit never asks for better than 1 ms:
//! an ordinary computer does not give it.
//!
//! Traps: resampled data has no jitter at all. That is not a good clock but none: not assessable.
//! Stamps of receipt are as far apart as packets, whatever the loop did: not assessable either. Jitter
//! of 1 ms is seen at any rate whose stamps are stored finely: a tenth of a period below 100 Hz.

use crate::check::prelude::{Check, Params, Study};
use crate::check::study::Clock;
use crate::model::{CheckSpec, Family, FrameSpan, Metric, Sheet, SpanList, Unit};
use crate::num::quantile::quantile_in_place;

/// The shortest period that the share is taken of.
const SHORTEST_PERIOD_S: f64 = 0.01;

static JITTER_SHARE: Metric = Metric::of_episode(
    "jitter_share",
    Unit::Share,
    "95th percentile of |dt - median dt| over the frame period",
)
.above(Some(0.10), Some(0.30));
static JITTER_P95: Metric =
    Metric::of_episode("jitter_p95", Unit::Second, "95th percentile of |dt - median dt|");
static STEP_MEDIAN: Metric = Metric::of_episode("step_median", Unit::Second, "median jump");
static STEP_MIN: Metric = Metric::of_episode("step_min", Unit::Second, "shortest step");
static STEP_MAX: Metric = Metric::of_episode("step_max", Unit::Second, "largest jump");
static STEP_STD: Metric = Metric::of_episode(
    "step_std",
    Unit::Second,
    "standard deviation of the clock's steps, lost frames and all",
);
static CYCLE_RMS: Metric =
    Metric::of_episode("cycle_rms", Unit::Second, "rms of the change from one step to the next");
static CYCLE_P99: Metric =
    Metric::of_episode("cycle_p99", Unit::Second, "99th percentile of that change");
static JITTER_ANGLE: Metric = Metric::of_episode(
    "jitter_angle",
    Unit::Radian,
    "jitter_p95 times the fastest joint's 95th percentile of speed",
);
static SPEED_P95: Metric = Metric::of_episode(
    "speed_p95",
    Unit::RadianPerSecond,
    "95th percentile of speed of the fastest joint",
)
.feature();

static SPEC: CheckSpec = CheckSpec {
    id: "timestamp-jitter",
    family: Family::Timing,
    applies_to: crate::model::SignalKind::ALL,
    needs: crate::model::Relation::Nothing,
    advisory: false,
    source: include_str!("timestamp_jitter.rs"),
    cause: "the recording loop shares its processor, or USB adds latency",
    remedy: "raise the loop's priority, set the power governor to performance, USB latency timer 1 ms",
    reference: "percentile as stated; cycle-to-cycle jitter: common practice, no source",
    metrics: &[
        &JITTER_SHARE,
        &JITTER_P95,
        &STEP_MEDIAN,
        &STEP_MIN,
        &STEP_MAX,
        &STEP_STD,
        &CYCLE_RMS,
        &CYCLE_P99,
        &JITTER_ANGLE,
        &SPEED_P95,
    ],
    params: &[],
};

/// The check; the head of this file is its manual.
pub static CHECK: Check = Check::of_episode(&SPEC, measure);

fn measure(study: &Study<'_>, _: &Params, sheet: &mut Sheet) {
    let clock = study.clock();
    let speed = fastest(study);
    if let Some(speed) = speed {
        sheet.put(&SPEED_P95, speed);
    }
    if let Some(reason) = clock.not_assessed() {
        sheet.not_assessed(reason);
        if !clock.synthetic || clock.steps.is_empty() {
            return;
        }
    } else if let Some(reason) = clock.of_receipt() {
        sheet.not_assessed(reason);
        sheet.put(&STEP_MEDIAN, clock.median_s());
        return put_spread(clock, sheet);
    }
    let (median_s, p95_s, deviations_s) = deviation(clock);
    sheet.put(&STEP_MEDIAN, median_s);
    put_spread(clock, sheet);
    sheet.put(&JITTER_P95, p95_s);
    if clock.synthetic {
        return;
    }
    let spans = if p95_s > 0.0 { worst(clock, &deviations_s) } else { SpanList::default() };
    let share = p95_s / clock.period_s.max(SHORTEST_PERIOD_S);
    sheet.put_spans(&JITTER_SHARE, None, share, spans);
    let mut changes: Vec<f64> =
        deviations_s.windows(2).map(|pair| (pair[1] - pair[0]).abs()).collect();
    let squares: f64 = changes.iter().map(|c| c * c).sum();
    sheet.put(&CYCLE_RMS, (squares / changes.len().max(1) as f64).sqrt());
    sheet.put(&CYCLE_P99, quantile_in_place(&mut changes, 0.99));
    if let Some(speed) = speed {
        sheet.put(&JITTER_ANGLE, p95_s * speed);
    }
}

/// Smallest, largest and standard deviation of the steps as they are.
fn put_spread(clock: &Clock, sheet: &mut Sheet) {
    let lengths = || clock.steps.iter().map(|step| step.length_s);
    sheet.put(&STEP_MIN, lengths().fold(f64::INFINITY, f64::min));
    sheet.put(&STEP_MAX, lengths().fold(f64::NEG_INFINITY, f64::max));
    let steps = clock.steps.len();
    if steps > 1 {
        let mean = lengths().sum::<f64>() / steps as f64;
        let squares: f64 = lengths().map(|length| (length - mean).powi(2)).sum();
        sheet.put(&STEP_STD, (squares / (steps - 1) as f64).sqrt());
    }
}

/// Median step, 95th percentile of the size of the differences, and each step's difference from as many
/// periods as it spans.
fn deviation(clock: &Clock) -> (f64, f64, Vec<f64>) {
    let mut lengths: Vec<f64> = clock.steps.iter().map(|step| step.length_s).collect();
    let median_s = clock.median_s();
    // An episode slower than the rest of its dataset may span several periods with its ordinary
    // step: that is a matter of rate, not of jitter.
    let spanned = (median_s / clock.period_s).round();
    let period_s = if spanned > 1.0 { median_s / spanned } else { median_s };
    let deviations: Vec<f64> =
        clock.steps.iter().map(|step| step.length_s - step.periods * period_s).collect();
    lengths.clear();
    lengths.extend(deviations.iter().map(|d| d.abs()));
    (median_s, quantile_in_place(&mut lengths, 0.95), deviations)
}

fn worst(clock: &Clock, deviations_s: &[f64]) -> SpanList {
    let mut weighted: Vec<(FrameSpan, f64)> = clock
        .steps
        .iter()
        .zip(deviations_s)
        .map(|(step, d)| (FrameSpan::new(step.row - 1, step.row + 1), d.abs()))
        .collect();
    if weighted.len() > SpanList::MOST {
        weighted
            .select_nth_unstable_by(SpanList::MOST, |x, y| y.1.total_cmp(&x.1).then(x.0.cmp(&y.0)));
        weighted.truncate(SpanList::MOST);
    }
    SpanList::worst(weighted)
}

/// 95th percentile of the fastest joint's speed, over chords of at least 100 ms and five frames.
fn fastest(study: &Study<'_>) -> Option<f64> {
    let period_s = study.episode.rig.period_s;
    let chord = ((0.1 / period_s).ceil() as usize).clamp(4, 1000);
    let frames = study.episode.frames();
    if period_s.is_nan() || period_s <= 0.0 || frames < 2 * chord {
        return None;
    }
    let speeds = (0..study.joints().len()).map(|joint| {
        let follower = study.state(joint);
        let mut moved: Vec<f32> = (0..frames - chord)
            .step_by(chord.div_ceil(2))
            .map(|row| (follower[row + chord] - follower[row]).abs())
            .collect();
        quantile_in_place(&mut moved, 0.95) / (chord as f64 * period_s)
    });
    speeds.reduce(f64::max)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::testing::{Bench, jitter_s};

    #[test]
    fn a_planted_deviation_is_read_back() {
        // Every tenth frame 8 ms late, the next back on schedule: a tenth of the steps is 8 ms
        // too long, a tenth 8 ms too short, the rest exact.
        let late = |i: usize| if i % 10 == 5 { 0.008 } else { 0.0 };
        let bench = Bench::at(50.0).frames(501).moved_stamps(late).measure(&CHECK);
        assert!((bench.value("jitter_p95") - 0.008).abs() < 1e-9);
        assert!((bench.value("jitter_share") - 0.4).abs() < 1e-6);
        assert!((bench.value("step_median") - 0.02).abs() < 1e-9);
        // Changes of 8, 16 and 8 ms in every ten.
        let rms = (0.008f64.powi(2) * (1.0 + 4.0 + 1.0) / 10.0).sqrt();
        assert!((bench.value("cycle_rms") - rms).abs() < 1e-4);
    }

    #[test]
    fn a_lost_frame_is_not_jitter() {
        for rate_hz in [25.0, 30.0, 50.0, 100.0, 200.0] {
            let small = move |i| jitter_s(i, 0.01 / rate_hz);
            let lost: Vec<usize> = (10..390).step_by(9).collect();
            let bench = Bench::at(rate_hz)
                .frames(400)
                .moved_stamps(small)
                .without_rows(&lost)
                .measure(&CHECK);
            assert!(bench.value("jitter_share") < 0.03, "{rate_hz} Hz: {bench:?}");
        }
    }

    #[test]
    fn an_episode_at_half_the_rate_is_not_jitter() {
        let odd: Vec<usize> = (0..400).filter(|i| i % 2 == 1).collect();
        let bench = Bench::at(50.0)
            .frames(400)
            .moved_stamps(|i| jitter_s(i, 1e-4))
            .without_rows(&odd)
            .measure(&CHECK);
        assert!(bench.value("jitter_share") < 0.02, "{bench:?}");
    }

    /// 24 Hz under a profile that says 30, and 200 Hz in packets of 4 ms.
    #[test]
    fn another_rate_and_packets_are_not_jitter() {
        for ratio in [0.3, 0.55, 0.7, 0.8, 0.9, 1.25, 1.5, 2.2, 3.0] {
            let rate_hz = 30.0 * ratio;
            let small = move |i| jitter_s(i, 0.02 / rate_hz);
            let bench = Bench::at(rate_hz).frames(300).moved_stamps(small);
            let bench = bench.rig(|rig| rig.period_s = 1.0 / 30.0).measure(&CHECK);
            assert!(bench.value("jitter_share") < 0.05, "{ratio}: {bench:?}");
        }
        let packet = |row: usize| (1.25 * row as f64).ceil() * 0.004 - row as f64 / 200.0;
        let bench = Bench::at(200.0).frames(800).moved_stamps(packet).measure(&CHECK);
        assert!(bench.is_not_assessed("stamps are of receipt, quantum 4 ms"), "{bench:?}");
        assert!(bench.missing("jitter_share"));
    }

    /// What the manual states.
    #[test]
    fn the_resolution_of_the_manual_holds() {
        for rate_hz in [5.0, 10.0, 30.0, 100.0, 500.0, 1000.0] {
            // A tenth of a period below 100 Hz, else 1 ms; no more than keeps the order of rows.
            let size_s = f64::max(0.1 / rate_hz, 0.001);
            let wide = move |i| jitter_s(i, (1.1 * size_s).min(0.45 / rate_hz));
            let bench = Bench::at(rate_hz).frames(600).moved_stamps(wide).measure(&CHECK);
            let jitter_s = bench.value("jitter_p95");
            assert!(jitter_s > size_s.min(0.5 / rate_hz), "{rate_hz} Hz: {jitter_s}");
        }
    }

    #[test]
    fn made_stamps_read_zero_and_are_not_assessable() {
        let bench = Bench::at(30.0).frames(300).moved_stamps(|_| 0.0).measure(&CHECK);
        assert!(bench.value("jitter_p95") < 1e-9);
        assert!(bench.is_not_assessed("made, not measured"));
        assert!(bench.missing("jitter_share"));
    }
}
