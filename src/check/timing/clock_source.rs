//! Stamps that were made from the frame index, are of receipt, or stored too coarsely to mean anything.
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
//! Stamps of receipt are given when a packet of rows comes (a USB transfer, a serial buffer): their
//! steps are multiples of a quantum that is not the period, while over 48 rows they never stray from an
//! even pace by more than a quantum or two. So the count of rows is exact, and the stamps of the rows
//! can be had back from it. Clocks rounded to a large part of a period read the same.
//!
//! Traps: made stamps are no fault by themselves, so they are not a finding. They make every
//! timing check not assessable, and that is never a pass. Whole milliseconds are coarse but even;
//! they only count once they reach a quarter of the period. A quantum within 15 % of the period cannot
//! be distinguished from frames that are lost now and then, and is taken for those. Fewer than 16 frames do not
//! show a quantum; from there on it is seen at any rate, if a twentieth of the period and more.

use crate::check::prelude::{Check, Params, Study};
use crate::model::{Bound, CheckSpec, ClockStorage, Family, Limit, Metric, Pool, Sheet, Unit};

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

static RECEIPT_QUANTUM: Metric = Metric::of_episode(
    "receipt_quantum",
    Unit::Second,
    "quantum of stamps that are of receipt and not of the frame; else zero",
)
.pooled(Pool::Session(Bound::Above(Limit::new(Some(0.0), None))))
.recovery("replace the stamps by an even pace: the number of frames over the time is exact");

static SPEC: CheckSpec = CheckSpec {
    id: "clock-source",
    family: Family::Timing,
    applies_to: crate::model::SignalKind::ALL,
    needs: crate::model::Relation::Nothing,
    advisory: false,
    source: include_str!("clock_source.rs"),
    cause: "stamps have too few digits for their size, or are of the packet and not of the frame",
    remedy: "stamp each frame when it is read, by a monotonic clock, as int64 nanoseconds or float64 \
             counted from the episode's start",
    reference: "IEEE 754 binary32 and binary64: spacing of representable numbers",
    metrics: &[&FLOAT_RESOLUTION, &TICK_RESOLUTION, &RECEIPT_QUANTUM],
    params: &[],
};

/// The check; the head of this file is its manual.
pub static CHECK: Check = Check::of_episode(&SPEC, measure).of_storage();

fn measure(study: &Study<'_>, _: &Params, sheet: &mut Sheet) {
    let clock = study.clock();
    // What storage can tell is held against the dataset's period: a single one it may have spoilt.
    let period_s = study.episode.rig.period_s;
    let share = clock.resolution_s / period_s;
    let period_known = period_s.is_finite() && period_s > 0.0;
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
        storage => {
            let float = matches!(storage, ClockStorage::Float { .. });
            sheet.put(if float { &FLOAT_RESOLUTION } else { &TICK_RESOLUTION }, share);
            if clock.not_assessed().is_none() {
                let quantum_s = clock.receipt.as_ref().map_or(0.0, |receipt| receipt.quantum_s);
                sheet.put(&RECEIPT_QUANTUM, quantum_s);
                if let Some(note) = clock.of_receipt() {
                    sheet.note(note);
                }
            }
        }
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

    /// Rows in USB packets, in bursts of two, and a clock rounded to a third of the period.
    #[test]
    fn stamps_of_receipt_show_their_quantum() {
        for (rate_hz, quantum_s) in [(200.0, 0.004), (200.0, 0.01), (30.0, 0.01), (500.0, 0.004)] {
            let late = move |row: usize| {
                let taken = row as f64 / rate_hz;
                ((taken + 1e-9) / quantum_s).ceil() * quantum_s - taken
            };
            let bench = Bench::at(rate_hz).frames(600).moved_stamps(late).measure(&CHECK);
            let read = bench.value("receipt_quantum");
            assert!((read / quantum_s - 1.0).abs() < 0.01, "{rate_hz} Hz: {read}");
            let plain = move |row| jitter_s(row, 0.05 / rate_hz);
            let bench = Bench::at(rate_hz).frames(600).moved_stamps(plain).measure(&CHECK);
            assert_eq!(bench.value("receipt_quantum"), 0.0);
        }
    }

    /// What the manual states: a quantum is seen at any rate.
    #[test]
    fn the_resolution_of_the_manual_holds() {
        for rate_hz in [10.0, 30.0, 100.0, 500.0, 1000.0] {
            for share in [0.3, 0.8, 2.0] {
                let quantum_s = share / rate_hz;
                let late = move |row: usize| {
                    let taken = row as f64 / rate_hz + jitter_s(row, 0.004 / rate_hz);
                    ((taken + 1e-9) / quantum_s).ceil() * quantum_s - row as f64 / rate_hz
                };
                let bench = Bench::at(rate_hz).frames(600).moved_stamps(late).measure(&CHECK);
                let read = bench.value("receipt_quantum");
                assert!((read / quantum_s - 1.0).abs() < 0.02, "{rate_hz} Hz {share}: {read}");
            }
        }
    }

    #[test]
    fn made_stamps_are_named_and_never_pass() {
        let bench = Bench::at(30.0).frames(300).moved_stamps(|_| 0.0).measure(&CHECK);
        assert!(bench.is_not_assessed("made, not measured") && bench.missing("float_resolution"));
    }
}
