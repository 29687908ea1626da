//! A clock that steps backward, or leaps by more than a second: a wall clock was set, or files
//! were joined.
//!
//! Everything that is measured per second is wrong across such a step.
//!
//! How: steps of the clock below zero, and steps of more than a second either way (three frame
//! periods, where a period is that long). Rows are looked at in the order in which they are
//! stored; they are never sorted.
//!
//! Traps: only within an episode. A wall clock may well be set between two of them.

use crate::check::{Check, Params, Study};
use crate::model::{CheckSpec, FrameSpan, Metric, Sheet, SpanList, Unit};

/// A step longer than this is a leap.
const LEAP_S: f64 = 1.0;

static BACKWARD_STEPS: Metric =
    Metric::of_episode("backward_steps", Unit::Count, "rows stamped before the row above them")
        .above(None, Some(0.0))
        .saved("cut the episode in two at the step of the clock");
static LEAPS: Metric =
    Metric::of_episode("leaps", Unit::Count, "steps of the clock of more than a second")
        .above(None, Some(0.0))
        .saved("cut the episode in two at the leap");

static SPEC: CheckSpec = CheckSpec {
    id: "clock-order",
    family: "timing",
    title: "clock order",
    advisory: false,
    source: include_str!("clock_order.rs"),
    cause: "the wall clock was set while recording, or recordings were joined",
    remedy: "log a monotonic clock; split joined recordings into episodes",
    reference: "common practice, no source",
    metrics: &[&BACKWARD_STEPS, &LEAPS],
    params: &[],
};

/// The instrument.
pub struct ClockOrder;

impl Check for ClockOrder {
    fn spec(&self) -> &'static CheckSpec {
        &SPEC
    }

    fn measure(&self, study: &Study<'_>, _: &Params, sheet: &mut Sheet) {
        let clock = study.clock();
        if clock.synthetic {
            return sheet
                .hole("the stamps follow the frame index exactly: they were made, not measured");
        }
        if clock.steps.is_empty() {
            return sheet.hole("fewer than two stamps");
        }
        let leap_s = LEAP_S.max(3.0 * clock.period_s);
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
        let (leaps, spans) = steps(&|length_s| length_s.abs() > leap_s);
        sheet.put_spans(&LEAPS, None, leaps, spans);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::testing::{Bench, jitter_s};

    #[test]
    fn a_clock_set_back_by_two_seconds_is_one_step_and_one_leap() {
        let set_back = |i: usize| if i >= 150 { -2.0 } else { jitter_s(i, 3e-4) };
        let bench = Bench::at(50.0).frames(300).moved_stamps(set_back).measure(&ClockOrder);
        assert_eq!(bench.value("backward_steps"), 1.0);
        assert_eq!(bench.value("leaps"), 1.0);
        assert_eq!(bench.spans("backward_steps"), [(149, 151)]);
    }

    #[test]
    fn jitter_and_lost_frames_keep_their_order() {
        let bench = Bench::at(200.0)
            .frames(300)
            .moved_stamps(|i| jitter_s(i, 1e-3))
            .without_rows(&[50, 51, 52])
            .measure(&ClockOrder);
        assert_eq!(bench.value("backward_steps"), 0.0);
        assert_eq!(bench.value("leaps"), 0.0);
    }
}
