//! Stamps that were made from the frame index, or stored too coarsely to mean anything.
//!
//! Stamps of the form t0 + i / f say nothing of when a frame was taken: lost frames, jitter and
//! the true rate are all hidden. And a stamp in seconds since 1970 in single precision moves in
//! steps of 128 seconds.
//!
//! How: a line is fitted to the stamps; if none is farther from it than the storage rounds (two
//! units in the last place of a float, half a tick of an integer, at least 1 us) they were made.
//! The distance between storable stamps at the size of these, as a share of the frame period: for
//! single precision 128 s at 1.7e9 s, 7.8 ms at one day, 0.24 ms at one hour.
//!
//! Traps: made stamps are no fault by themselves, so they are not a finding. They make every
//! timing check not assessable, and that is never a pass. Whole milliseconds are coarse but even;
//! they only count once they reach a quarter of the period.

use crate::check::prelude::{Check, Params, Study};
use crate::model::{CheckSpec, ClockStorage, Family, Metric, Sheet, Unit};

static FLOAT_RESOLUTION: Metric = Metric::of_episode(
    "float_resolution",
    Unit::Ratio,
    "distance of neighbouring floating-point stamps over the frame period",
)
.above(Some(0.05), Some(0.50));
static TICK_RESOLUTION: Metric = Metric::of_episode(
    "tick_resolution",
    Unit::Ratio,
    "length of a tick of whole-number stamps over the frame period",
)
.above(Some(0.25), Some(0.50));

static SPEC: CheckSpec = CheckSpec {
    id: "clock-source",
    family: Family::Timing,
    applies_to: crate::model::SignalKind::ALL,
    needs: crate::model::Relation::Nothing,
    advisory: false,
    source: include_str!("clock_source.rs"),
    cause: "stamps are stored with too few digits for their size",
    remedy: "log a monotonic clock as int64 nanoseconds or float64, counted from the episode's start",
    reference: "IEEE 754 binary32 and binary64: spacing of representable numbers",
    metrics: &[&FLOAT_RESOLUTION, &TICK_RESOLUTION],
    params: &[],
};

/// The check; the head of this file is its manual.
pub static CHECK: Check = Check::of_episode(&SPEC, measure);

fn measure(study: &Study<'_>, _: &Params, sheet: &mut Sheet) {
    let clock = study.clock();
    let share = clock.resolution_s / clock.period_s;
    let period_known = clock.period_s.is_finite() && clock.period_s > 0.0;
    match study.episode.rig.clock {
        ClockStorage::None => {
            sheet.not_assessed("no time column: stamps were made from the row number");
        }
        _ if clock.synthetic => {
            sheet.not_assessed(
                "the stamps follow the frame index exactly: they were made, not measured",
            );
        }
        _ if !period_known => sheet.not_assessed("no frame period to hold the storage against"),
        ClockStorage::Float { .. } => sheet.put(&FLOAT_RESOLUTION, share),
        ClockStorage::Ticks { .. } => sheet.put(&TICK_RESOLUTION, share),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::testing::{Bench, jitter_s};

    #[test]
    fn single_precision_epoch_stamps_are_hopeless() {
        let single = ClockStorage::Float { precision_bits: 24, scale_s: 1.0 };
        let bench = Bench::at(50.0)
            .frames(300)
            .moved_stamps(|i| 1.7e9 + jitter_s(i, 3e-4))
            .stored(single)
            .measure(&CHECK);
        assert_eq!(bench.value("float_resolution"), 128.0 * 50.0);
    }

    #[test]
    fn doubles_and_milliseconds_are_fine() {
        let double = ClockStorage::Float { precision_bits: 53, scale_s: 1.0 };
        let real = |i| 1.7e9 + jitter_s(i, 2e-3);
        let bench = Bench::at(50.0).frames(300).moved_stamps(real).stored(double).measure(&CHECK);
        assert!(bench.value("float_resolution") < 1e-4);
        let ticks = ClockStorage::Ticks { tick_s: 1e-3 };
        let bench = Bench::at(100.0).frames(300).moved_stamps(real).stored(ticks).measure(&CHECK);
        assert!((bench.value("tick_resolution") - 0.1).abs() < 1e-9);
    }

    #[test]
    fn made_stamps_are_named_and_never_pass() {
        let bench = Bench::at(30.0).frames(300).moved_stamps(|_| 0.0).measure(&CHECK);
        assert!(bench.is_not_assessed("made, not measured") && bench.missing("float_resolution"));
    }
}
