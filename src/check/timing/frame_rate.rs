//! A loop slower (or faster) than was declared.
//!
//! A policy trained at the declared rate and run at it will move the arm at another speed than
//! the hand did.
//!
//! How: the rate of the loop is one over the period that the stamps show (the mean step of chords
//! without a lost frame, or the pace behind stamps of receipt), and it is held against the declared
//! rate. Also given: the mean rate (n - 1) / (last stamp - first stamp), which counts lost frames as
//! time, and 1 / median(dt).
//!
//! Traps: never judged against a guess. Without a declared rate this is not assessable and the
//! rates are reported only. Lost frames are no slow loop: dropped-frames counts them. Stamps stored
//! too coarsely for single steps still give a rate where they last long enough. Steady stamps give
//! the rate within 0.3 % at any rate from 5 to 1,000 Hz.

use crate::check::prelude::{Check, Params, Study};
use crate::model::{CheckSpec, Family, Metric, Pool, Sheet, Unit};

/// A rate is read within this share.
const EXACT: f64 = 0.003;

static RATE_DEVIATION: Metric = Metric::of_episode(
    "rate_deviation",
    Unit::Ratio,
    "distance of the loop's rate from the declared rate, as a share of it",
)
.above(Some(0.02), Some(0.10))
.pooled(Pool::Own)
.recovery("declare the true rate, and train and run at it");
/// The measurement `mean_rate`.
pub static MEAN_RATE: Metric =
    Metric::of_episode("mean_rate", Unit::Hertz, "(n - 1) / (last stamp - first stamp)");
static LOOP_RATE: Metric =
    Metric::of_episode("loop_rate", Unit::Hertz, "one over the period, lost frames left out");
static MEDIAN_RATE: Metric = Metric::of_episode("median_rate", Unit::Hertz, "1 / median jump");

static SPEC: CheckSpec = CheckSpec {
    id: "frame-rate",
    family: Family::Timing,
    applies_to: crate::model::SignalKind::ALL,
    needs: crate::model::Relation::Nothing,
    advisory: false,
    source: include_str!("frame_rate.rs"),
    cause: "the loop does not keep the declared rate",
    remedy: "read and write servos as a group, USB latency timer 1 ms; or declare the true rate",
    reference: "common practice, no source",
    metrics: &[&RATE_DEVIATION, &LOOP_RATE, &MEAN_RATE, &MEDIAN_RATE],
    params: &[],
};

/// The check; the head of this file is its manual.
pub static CHECK: Check = Check::of_episode(&SPEC, measure);

fn measure(study: &Study<'_>, _: &Params, sheet: &mut Sheet) {
    let clock = study.clock();
    let elapsed_s = clock.elapsed_s();
    // Too coarse for steps, and yet fine enough for all of them together.
    let long_enough = clock.too_coarse() && clock.resolution_s <= EXACT * elapsed_s;
    if let Some(reason) = clock.not_assessed().filter(|_| clock.synthetic || !long_enough) {
        return sheet.not_assessed(reason);
    }
    if elapsed_s <= 0.0 || clock.runs_backward() {
        return sheet.not_assessed("the clock runs backward");
    }
    let mean_hz = clock.steps.len() as f64 / elapsed_s;
    sheet.put(&MEAN_RATE, mean_hz);
    let median_s = clock.median_s();
    if median_s > 0.0 {
        sheet.put(&MEDIAN_RATE, 1.0 / median_s);
    }
    let loop_hz = if clock.too_coarse() { mean_hz } else { 1.0 / clock.loop_s };
    sheet.put(&LOOP_RATE, loop_hz);
    match study.episode.rig.rate_hz {
        Some(declared_hz) => {
            sheet.put(&RATE_DEVIATION, (loop_hz - declared_hz).abs() / declared_hz);
        }
        None => sheet.not_assessed("no declared rate (--rate HZ, or rate_hz in the profile)"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::testing::{Bench, jitter_s};

    #[test]
    fn three_percent_of_lost_cycles_hide_from_the_median() {
        let lost: Vec<usize> = (0..970).filter(|i| i % 33 == 20).collect();
        let bench = Bench::at(30.0)
            .frames(1000)
            .moved_stamps(|i| jitter_s(i, 4e-4))
            .without_rows(&lost)
            .measure(&CHECK);
        let kept = (1000 - lost.len() - 1) as f64;
        assert!((bench.value("mean_rate") - kept * 30.0 / 999.0).abs() < 1e-3);
        assert!((bench.value("median_rate") - 30.0).abs() < 0.05);
    }

    /// Three in ten to three times the declared rate, at 5 to 1,000 Hz, with lost frames.
    #[test]
    fn the_rate_of_the_manual_is_read_within_the_stated_share() {
        for declared_hz in [10.0, 30.0, 50.0, 300.0] {
            for ratio in [0.3, 0.5, 0.67, 0.8, 1.0, 1.25, 1.6, 2.0, 3.0] {
                let rate_hz: f64 = declared_hz * ratio;
                let lost: Vec<usize> = (0..600).filter(|i| i % 71 == 20).collect();
                let bench = Bench::at(rate_hz)
                    .frames(600)
                    .moved_stamps(move |i| jitter_s(i, 0.02 / rate_hz))
                    .without_rows(&lost)
                    .declared(declared_hz)
                    .measure(&CHECK);
                let read = bench.value("loop_rate");
                assert!((read / rate_hz - 1.0).abs() < EXACT, "{rate_hz} of {declared_hz}: {read}");
                let off = bench.value("rate_deviation");
                assert!((off - (ratio - 1.0).abs()).abs() < EXACT * ratio, "{ratio}: {off}");
            }
        }
    }

    #[test]
    fn packets_and_coarse_stamps_keep_their_rate() {
        let packet = |row: usize| (1.25 * row as f64).ceil() * 0.004 - row as f64 / 200.0;
        let bench = Bench::at(200.0).frames(800).moved_stamps(packet).declared(200.0);
        assert!(bench.measure(&CHECK).value("rate_deviation") < EXACT);
        let coarse = |row: usize| (row as f64 / 2.0).floor() * 0.01 - row as f64 / 200.0;
        let ticks = crate::model::ClockStorage::Ticks { tick_s: 0.01 };
        let bench = Bench::at(200.0).frames(800).moved_stamps(coarse).stored(ticks);
        let bench = bench.declared(200.0).measure(&CHECK);
        assert!(bench.value("rate_deviation") < EXACT, "{bench:?}");
    }

    #[test]
    fn a_slow_loop_is_measured_against_the_declared_rate_only() {
        let real = |i| jitter_s(i, 4e-4);
        let bench = Bench::at(27.0).frames(300).moved_stamps(real).declared(30.0).measure(&CHECK);
        assert!((bench.value("rate_deviation") - 0.1).abs() < 1e-3);
        let bench = Bench::at(27.0).frames(300).moved_stamps(real).measure(&CHECK);
        assert!(bench.is_not_assessed("no declared rate") && bench.missing("rate_deviation"));
    }
}
