//! Frames that were never recorded: the loop overran, the disk was slow, a camera blocked.
//!
//! A policy learns how far the arm moves in one frame. Where frames are missing it sees jumps
//! that never happened, and chunks of actions that are longer than they claim.
//!
//! How: the period T is estimated from the episode's own stamps first (the mean step of chords of 16
//! steps that hold no lost frame), never taken from what was declared. A jump spans round(dt / T)
//! periods and has lost one less than that. The share is lost / (lost + recorded). A step of
//! 1.5 T counts as two periods. An episode that holds every second frame of its dataset lost the
//! others. Stamps of receipt (see clock-source) are held against the even pace behind them: frames
//! are lost where the earliest stamps from there on are later by a period.
//!
//! Traps: a late frame is not a lost one. Where the next steps are short and bring the stamps back
//! onto the schedule, nothing was lost; stamps that stay late are lost frames. 1 / median(dt)
//! hides losses: with 3 % of the cycles missing it still reads the nominal rate. One lost frame is
//! seen at any rate, and so is a gap of two periods: 200 ms at 10 Hz, 67 ms at 30 Hz, 20 ms at
//! 100 Hz, 4 ms at 500 Hz, 2 ms at 1,000 Hz.
//!
//! Not assessable on stamps that were made from the frame index, stored too coarsely, or on
//! episodes of fewer than eight frames.

use crate::check::prelude::{Check, Params, Study};
use crate::model::{CheckSpec, Family, FrameSpan, Metric, Sheet, SpanList, Unit};

static DROPPED_SHARE: Metric = Metric::of_episode(
    "dropped_share",
    Unit::Share,
    "share of the expected frames that is missing",
)
.above(Some(0.005), Some(0.03));
static DROPPED_FRAMES: Metric =
    Metric::of_episode("dropped_frames", Unit::Count, "frames that are missing");
static DROPPED_IN_A_ROW: Metric =
    Metric::of_episode("dropped_in_a_row", Unit::Count, "most frames missing in one place")
        .above(Some(1.0), None);
static LONGEST_GAP: Metric =
    Metric::of_episode("longest_gap", Unit::Second, "longest step with a missing frame; else zero")
        .above(None, Some(0.25));

static SPEC: CheckSpec = CheckSpec {
    id: "dropped-frames",
    family: Family::Timing,
    applies_to: crate::model::SignalKind::ALL,
    needs: crate::model::Relation::Nothing,
    advisory: false,
    source: include_str!("dropped_frames.rs"),
    cause: "the recording loop overran, the disk was slow, or a camera blocked",
    remedy: "record in a thread of its own; fewer or smaller camera streams; a faster disk",
    reference: "rule as stated; agrees with a flight logger's own counter of rejected writes",
    metrics: &[&DROPPED_SHARE, &DROPPED_FRAMES, &DROPPED_IN_A_ROW, &LONGEST_GAP],
    params: &[],
};

/// The check; the head of this file is its manual.
pub static CHECK: Check = Check::of_episode(&SPEC, measure);

fn measure(study: &Study<'_>, _: &Params, sheet: &mut Sheet) {
    let clock = study.clock();
    if let Some(reason) = clock.not_assessed() {
        return sheet.not_assessed(reason);
    }
    let gaps = || clock.steps.iter().filter(|step| step.periods > 1.0);
    // Not `sum`: of nothing at all it is -0, which is an odd thing to read on a scorecard.
    let dropped = gaps().fold(0.0, |sum, gap| sum + (gap.periods - 1.0));
    let in_a_row = gaps().map(|gap| gap.periods - 1.0).fold(0.0, f64::max);
    let longest_s = gaps().map(|gap| gap.length_s).fold(0.0, f64::max);
    let span = |row: usize| FrameSpan::new(row - 1, row + 1);
    let spans = || SpanList::worst(gaps().map(|gap| (span(gap.row), gap.length_s)));
    let frames = study.episode.frames() as f64;
    sheet.put_spans(&DROPPED_SHARE, None, dropped / (dropped + frames), spans());
    sheet.put(&DROPPED_FRAMES, dropped);
    sheet.put_spans(&DROPPED_IN_A_ROW, None, in_a_row, spans());
    sheet.put_spans(&LONGEST_GAP, None, longest_s, spans());
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::testing::{Bench, jitter_s};

    #[test]
    fn lost_frames_are_counted_exactly_and_placed() {
        let lost = [40, 100, 101, 102, 200];
        let bench = Bench::at(50.0).frames(300).without_rows(&lost).measure(&CHECK);
        assert_eq!(bench.value("dropped_frames"), 5.0);
        assert_eq!(bench.value("dropped_in_a_row"), 3.0);
        assert!((bench.value("dropped_share") - 5.0 / 300.0).abs() < 1e-12);
        assert!((bench.value("longest_gap") - 0.08).abs() < 2e-3);
        assert_eq!(bench.spans("dropped_share"), [(39, 41), (98, 100), (195, 197)]);
    }

    #[test]
    fn late_frames_and_jitter_lose_nothing() {
        for rate_hz in [25.0, 30.0, 50.0, 100.0, 200.0] {
            let late = move |i: usize| {
                if i % 37 == 5 { 0.7 / rate_hz } else { jitter_s(i, 0.05 / rate_hz) }
            };
            let bench = Bench::at(rate_hz).frames(400).moved_stamps(late).measure(&CHECK);
            assert_eq!(bench.value("dropped_frames"), 0.0, "{rate_hz} Hz");
            assert_eq!(bench.value("longest_gap"), 0.0, "{rate_hz} Hz");
        }
    }

    /// What the manual states: a single lost frame is a gap of two periods at any rate.
    #[test]
    fn the_resolution_of_the_manual_holds() {
        for rate_hz in [5.0, 10.0, 30.0, 100.0, 500.0, 1000.0] {
            let jitter = move |i| jitter_s(i, 0.03 / rate_hz);
            let whole = Bench::at(rate_hz).frames(600).moved_stamps(jitter);
            assert_eq!(whole.measure(&CHECK).value("dropped_frames"), 0.0, "{rate_hz} Hz");
            let bench = Bench::at(rate_hz).frames(600).moved_stamps(jitter).without_rows(&[300]);
            let bench = bench.measure(&CHECK);
            assert_eq!(bench.value("dropped_frames"), 1.0, "{rate_hz} Hz");
            assert!((bench.value("longest_gap") * rate_hz - 2.0).abs() < 0.1, "{rate_hz} Hz");
        }
    }

    /// Rows at 200 Hz that come in packets of 4 ms, or two at a time.
    #[test]
    fn stamps_of_receipt_lose_only_what_the_pace_behind_them_lost() {
        for quantum_s in [0.004, 0.01] {
            let late = move |row: usize| {
                let taken = row as f64 / 200.0;
                ((taken + 1e-9) / quantum_s).ceil() * quantum_s - taken
            };
            let packets = || Bench::at(200.0).frames(800).moved_stamps(late);
            assert_eq!(packets().measure(&CHECK).value("dropped_frames"), 0.0, "{quantum_s} s");
            let lost = packets().without_rows(&[300, 301, 302, 303, 304, 305]);
            assert_eq!(lost.measure(&CHECK).value("dropped_frames"), 6.0, "{quantum_s} s");
        }
    }

    /// 24 Hz under a profile that says 30: every step is 41.7 ms, and nothing is missing.
    #[test]
    fn another_rate_than_the_dataset_loses_nothing() {
        for ratio in [0.3, 0.55, 0.7, 0.8, 0.9, 1.25, 1.5, 2.2, 3.0] {
            let rate_hz = 30.0 * ratio;
            let jitter = move |i| jitter_s(i, 0.02 / rate_hz);
            let bench = Bench::at(rate_hz).frames(300).moved_stamps(jitter);
            let bench = bench.rig(|rig| rig.period_s = 1.0 / 30.0).measure(&CHECK);
            assert_eq!(bench.value("dropped_frames"), 0.0, "{ratio}");
        }
    }

    #[test]
    fn made_stamps_are_no_pass() {
        let bench = Bench::at(30.0).frames(300).moved_stamps(|_| 0.0).measure(&CHECK);
        assert!(bench.is_not_assessed("made, not measured"), "{bench:?}");
    }
}
