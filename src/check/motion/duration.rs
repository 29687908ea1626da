//! How long the episode is. One of less than a second or of a few frames was aborted.
//!
//! An aborted take shows the beginning of the task and teaches to stop there.
//!
//! How: last stamp minus first where stamps can be used, else frames times the period; and the
//! number of frames.
//!
//! Traps: length is a matter of the task; nothing but an aborted take is a fault by itself. Unusual
//! lengths among episodes of a session are a question for the cohort.

use crate::check::prelude::{Check, Params, Study};
use crate::model::{CheckSpec, Family, Metric, Sheet, Unit};

/// The measurement `duration`.
pub static DURATION: Metric =
    Metric::of_episode("duration", Unit::Second, "length of the episode").below(None, Some(1.0));
static FRAMES: Metric =
    Metric::of_episode("frames", Unit::Count, "frames in it").below(None, Some(20.0));

static SPEC: CheckSpec = CheckSpec {
    id: "duration",
    family: Family::Motion,
    applies_to: crate::model::SignalKind::ALL,
    needs: crate::model::Relation::Nothing,
    advisory: false,
    source: include_str!("duration.rs"),
    cause: "the take was aborted",
    remedy: "leave the episode out, or record it again",
    reference: "common practice, no source",
    metrics: &[&DURATION, &FRAMES],
    params: &[],
};

/// The check; the head of this file is its manual.
pub static CHECK: Check = Check::of_episode(&SPEC, measure);

fn measure(study: &Study<'_>, _: &Params, sheet: &mut Sheet) {
    let frames = study.episode.frames();
    let clock = study.clock();
    let by_frames = study.period_s().map(|period_s| frames as f64 * period_s);
    // Stamps that run backward or cannot tell frames apart say nothing of the length.
    let honest = !clock.runs_backward() && !clock.too_coarse() && !clock.steps.is_empty();
    let by_stamps = honest.then(|| study.episode.duration_s() + study.period_s().unwrap_or(0.0));
    match by_stamps.or(by_frames) {
        Some(duration_s) => sheet.put(&DURATION, duration_s),
        None => sheet.not_assessed("neither usable stamps nor a frame period"),
    }
    sheet.put(&FRAMES, frames as f64);
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::testing::Bench;

    #[test]
    fn seconds_and_frames_are_counted() {
        for rate_hz in [25.0, 30.0, 50.0, 100.0, 200.0] {
            let bench = Bench::at(rate_hz).seconds(3.0).measure(&CHECK);
            assert!((bench.value("duration") - 3.0).abs() < 2e-3, "{rate_hz} Hz");
            assert_eq!(bench.value("frames"), (3.0 * rate_hz) as usize as f64);
        }
    }

    #[test]
    fn frames_speak_where_stamps_do_not() {
        let back = |row: usize| if row > 40 { -1.0 } else { 0.0 };
        let bench = Bench::at(50.0).frames(100).moved_stamps(back).measure(&CHECK);
        assert!((bench.value("duration") - 2.0).abs() < 1e-9);
    }
}
