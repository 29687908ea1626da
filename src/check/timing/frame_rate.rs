//! A loop slower (or faster) than was declared.
//!
//! A policy trained at the declared rate and run at it will move the arm at another speed than
//! the hand did.
//!
//! How: the mean rate (n - 1) / (last stamp - first stamp) and the rate of the typical step, 1 /
//! median(dt). The mean rate counts lost frames, the median does not: both are reported. The mean
//! rate is held against the declared one.
//!
//! Traps: never judged against a guess. Without a declared rate this is not assessable and the
//! rates are reported only.

use crate::check::prelude::{Check, Params, Study};
use crate::model::{CheckSpec, Family, Metric, Pool, Sheet, Unit};

static RATE_DEVIATION: Metric = Metric::of_episode(
    "rate_deviation",
    Unit::Ratio,
    "distance of the mean rate from the declared rate, as a share of it",
)
.above(Some(0.02), Some(0.10))
.pooled(Pool::Own)
.recovery("declare the true rate, and train and run at it");
/// The measurement `mean_rate`.
pub static MEAN_RATE: Metric =
    Metric::of_episode("mean_rate", Unit::Hertz, "(n - 1) / (last stamp - first stamp)");
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
    metrics: &[&RATE_DEVIATION, &MEAN_RATE, &MEDIAN_RATE],
    params: &[],
};

/// The check; the head of this file is its manual.
pub static CHECK: Check = Check::of_episode(&SPEC, measure);

fn measure(study: &Study<'_>, _: &Params, sheet: &mut Sheet) {
    let clock = study.clock();
    if let Some(reason) = clock.not_assessed() {
        return sheet.not_assessed(reason);
    }
    let elapsed_s = clock.elapsed_s();
    if elapsed_s <= 0.0 || clock.runs_backward() {
        return sheet.not_assessed("the clock runs backward");
    }
    let mean_hz = clock.steps.len() as f64 / elapsed_s;
    sheet.put(&MEAN_RATE, mean_hz);
    let median_s = clock.median_s();
    if median_s > 0.0 {
        sheet.put(&MEDIAN_RATE, 1.0 / median_s);
    }
    match study.episode.rig.rate_hz {
        Some(declared_hz) => {
            sheet.put(&RATE_DEVIATION, (mean_hz - declared_hz).abs() / declared_hz);
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

    #[test]
    fn a_slow_loop_is_measured_against_the_declared_rate_only() {
        let real = |i| jitter_s(i, 4e-4);
        let bench = Bench::at(27.0).frames(300).moved_stamps(real).declared(30.0).measure(&CHECK);
        assert!((bench.value("rate_deviation") - 0.1).abs() < 1e-3);
        let bench = Bench::at(27.0).frames(300).moved_stamps(real).measure(&CHECK);
        assert!(bench.is_not_assessed("no declared rate") && bench.missing("rate_deviation"));
    }
}
