//! Frames that were never recorded: the loop overran, the disk was slow, a camera blocked.
//!
//! A policy learns how far the arm moves in one frame. Where frames are missing it sees jumps
//! that never happened, and chunks of actions that are longer than they claim.
//!
//! How: with T the dataset's frame period (median over episodes of their median step, or the
//! declared period where the two agree within a quarter), a jump spans round(dt / T)
//! periods and has lost one less than that. The share is lost / (lost + recorded). A step of
//! 1.5 T counts as two periods.
//!
//! Traps: a late frame is not a lost one. Where the next steps are short and bring the stamps back
//! onto the schedule, nothing was lost; stamps that stay late are lost frames. 1 / median(dt)
//! hides losses: with 3 % of the cycles missing it still reads the nominal rate.
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

    #[test]
    fn made_stamps_are_no_pass() {
        let bench = Bench::at(30.0).frames(300).moved_stamps(|_| 0.0).measure(&CHECK);
        assert!(bench.is_not_assessed("made, not measured"), "{bench:?}");
    }
}
