//! Frames written twice: two rows of one episode with the same stamp.
//!
//! A doubled row is a moment in which the leader commanded and nothing moved; a policy learns to
//! wait there. It also shifts every later row of a table that is read by row number.
//!
//! How: jumps that are exactly zero; their share of all rows.
//!
//! Traps: a still arm repeats its values, so values alone prove nothing; the stamp must repeat.
//! Stamps stored too coarsely repeat by rounding, stamps of receipt repeat within a packet, and then
//! this is not assessable. A single row is seen at any rate.

use crate::check::prelude::{Check, Params, Study};
use crate::model::{CheckSpec, Family, FrameSpan, Metric, Sheet, SpanList, Unit};

static REPEATED_FRAMES: Metric =
    Metric::of_episode("repeated_frames", Unit::Count, "rows with the stamp of the row before")
        .above(Some(0.0), None)
        .recovery("drop the rows that were written twice");
static REPEATED_SHARE: Metric =
    Metric::of_episode("repeated_share", Unit::Share, "their share of all rows")
        .above(None, Some(0.01))
        .recovery("drop the rows that were written twice");

static SPEC: CheckSpec = CheckSpec {
    id: "repeated-frames",
    family: Family::Timing,
    applies_to: crate::model::SignalKind::ALL,
    needs: crate::model::Relation::Nothing,
    advisory: false,
    source: include_str!("repeated_frames.rs"),
    cause: "the logger wrote rows twice",
    remedy: "look at the logger: one writer, one row a cycle",
    reference: "common practice, no source",
    metrics: &[&REPEATED_FRAMES, &REPEATED_SHARE],
    params: &[],
};

/// The check; the head of this file is its manual.
pub static CHECK: Check = Check::of_episode(&SPEC, measure);

fn measure(study: &Study<'_>, _: &Params, sheet: &mut Sheet) {
    let clock = study.clock();
    if let Some(reason) = clock.not_assessed().or_else(|| clock.of_receipt()) {
        return sheet.not_assessed(reason);
    }
    let repeats = || clock.steps.iter().filter(|step| step.length_s == 0.0);
    let count = repeats().count() as f64;
    let spans = || SpanList::longest(repeats().map(|s| FrameSpan::new(s.row - 1, s.row + 1)));
    sheet.put_spans(&REPEATED_FRAMES, None, count, spans());
    sheet.put_spans(&REPEATED_SHARE, None, count / study.episode.frames() as f64, spans());
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::testing::{Bench, Measured, jitter_s};

    #[test]
    fn a_doubled_stamp_is_a_repeat() {
        let mut episode = Bench::at(30.0).frames(200).episode();
        episode.time_s[100] = episode.time_s[99];
        let bench = Measured::of(&CHECK, &episode);
        assert_eq!(bench.value("repeated_frames"), 1.0);
        assert_eq!(bench.value("repeated_share"), 1.0 / 200.0);
        assert_eq!(bench.spans("repeated_frames"), [(99, 101)]);
    }

    /// What the manual states: a single row, at any rate.
    #[test]
    fn the_resolution_of_the_manual_holds() {
        for rate_hz in [10.0, 30.0, 100.0, 500.0, 1000.0] {
            let jitter = move |row| jitter_s(row, 0.02 / rate_hz);
            let mut episode = Bench::at(rate_hz).frames(300).moved_stamps(jitter).episode();
            assert_eq!(Measured::of(&CHECK, &episode).value("repeated_frames"), 0.0);
            episode.time_s[200] = episode.time_s[199];
            let read = Measured::of(&CHECK, &episode);
            assert_eq!(read.value("repeated_frames"), 1.0, "{rate_hz} Hz: {read:?}");
        }
    }

    #[test]
    fn a_still_arm_does_not_repeat_frames() {
        let jitter = |i| jitter_s(i, 5e-4);
        let bench = Bench::at(30.0).frames(200).still().moved_stamps(jitter).measure(&CHECK);
        assert_eq!(bench.value("repeated_frames"), 0.0);
    }
}
