//! A clock that steps backward, or jumps by more than a second: a wall clock was set, or files
//! were joined.
//!
//! Everything that is measured per second is wrong across such a step.
//!
//! How: jumps below zero, and steps of more than a second either way (three frame
//! periods, where a period is that long). Rows are looked at in the order in which they are
//! stored; they are never sorted.
//!
//! Traps: only within an episode. A wall clock may well be set between two of them. A single row that is
//! stamped before the one above it is seen at any rate, and so is a jump of more than a second; shorter
//! ones are for dropped-frames.

use crate::check::prelude::{Check, Params, Study};
use crate::model::{CheckSpec, Family, FrameSpan, Metric, Sheet, SpanList, Unit};

/// A step longer than this is a jump.
pub const JUMP_S: f64 = 1.0;

static BACKWARD_STEPS: Metric =
    Metric::of_episode("backward_steps", Unit::Count, "rows stamped before the row above them")
        .above(None, Some(0.0))
        .recovery("cut the episode in two at the jump");
static JUMPS: Metric = Metric::of_episode("jumps", Unit::Count, "jumps of more than a second")
    .above(None, Some(0.0))
    .recovery("cut the episode in two at the jump");

static SPEC: CheckSpec = CheckSpec {
    id: "non-monotonic-time",
    family: Family::Timing,
    applies_to: crate::model::SignalKind::ALL,
    needs: crate::model::Relation::Nothing,
    advisory: false,
    source: include_str!("non_monotonic_time.rs"),
    cause: "the wall clock was set while recording, or recordings were joined",
    remedy: "log a monotonic clock; split joined recordings into episodes",
    reference: "common practice, no source",
    metrics: &[&BACKWARD_STEPS, &JUMPS],
    params: &[],
};

/// The check; the head of this file is its manual.
pub static CHECK: Check = Check::of_episode(&SPEC, measure);

fn measure(study: &Study<'_>, _: &Params, sheet: &mut Sheet) {
    let clock = study.clock();
    if clock.synthetic {
        return sheet.not_assessed(
            "the stamps follow the frame index exactly: they were made, not measured",
        );
    }
    if clock.steps.is_empty() {
        return sheet.not_assessed("fewer than two stamps");
    }
    let jump_s = JUMP_S.max(3.0 * clock.period_s);
    let span = |row: usize| FrameSpan::new(row - 1, row + 1);
    let steps = |wanted: &dyn Fn(f64) -> bool| {
        let found: Vec<_> = clock
            .steps
            .iter()
            .filter(|step| wanted(step.length_s))
            .map(|step| (span(step.row), step.length_s.abs()))
            .collect();
        (found.len() as f64, SpanList::worst(found))
    };
    let (backward, spans) = steps(&|length_s| length_s < 0.0);
    sheet.put_spans(&BACKWARD_STEPS, None, backward, spans);
    let (jumps, spans) = steps(&|length_s| length_s.abs() > jump_s);
    sheet.put_spans(&JUMPS, None, jumps, spans);
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::testing::{Bench, jitter_s};

    #[test]
    fn a_clock_set_back_by_two_seconds_is_one_step_and_one_jump() {
        let set_back = |i: usize| if i >= 150 { -2.0 } else { jitter_s(i, 3e-4) };
        let bench = Bench::at(50.0).frames(300).moved_stamps(set_back).measure(&CHECK);
        assert_eq!(bench.value("backward_steps"), 1.0);
        assert_eq!(bench.value("jumps"), 1.0);
        assert_eq!(bench.spans("backward_steps"), [(149, 151)]);
    }

    /// What the manual states.
    #[test]
    fn the_resolution_of_the_manual_holds() {
        for rate_hz in [5.0, 10.0, 30.0, 100.0, 500.0, 1000.0] {
            let back = move |i: usize| if i == 150 { -1.5 / rate_hz } else { jitter_s(i, 1e-5) };
            let bench = Bench::at(rate_hz).frames(300).moved_stamps(back).measure(&CHECK);
            assert_eq!(bench.value("backward_steps"), 1.0, "{rate_hz} Hz");
            let jump = |i: usize| if i >= 150 { 1.1 } else { jitter_s(i, 1e-5) };
            let bench = Bench::at(rate_hz).frames(300).moved_stamps(jump).measure(&CHECK);
            assert_eq!(bench.value("jumps"), 1.0, "{rate_hz} Hz");
        }
    }

    #[test]
    fn jitter_and_lost_frames_keep_their_order() {
        let bench = Bench::at(200.0)
            .frames(300)
            .moved_stamps(|i| jitter_s(i, 1e-3))
            .without_rows(&[50, 51, 52])
            .measure(&CHECK);
        assert_eq!(bench.value("backward_steps"), 0.0);
        assert_eq!(bench.value("jumps"), 0.0);
    }
}
