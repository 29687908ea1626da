//! How long the episode is. One of less than a second or of a few frames was aborted.
//!
//! An aborted take shows the beginning of the task and teaches to stop there.
//!
//! How: last stamp minus first where stamps can be used, else frames times the period; and the
//! number of frames. A whole take is at least 1 s long and 20 frames. Where the episodes of the dataset are usually
//! shorter than twice that (pushes of 0.8 s), half of their usual length is asked for instead: the
//! median over up to twelve of them, from five episodes on. The reading is what is missing to it.
//!
//! Traps: length is a matter of the task; nothing but an aborted take is a fault by itself. Unusual
//! lengths among episodes of a session are a question for the cohort. A length is known to one frame.

use crate::check::prelude::{Check, Params, Study};
use crate::model::{CheckSpec, Family, Metric, Sheet, Unit};

/// A whole take is at least this long, in seconds and frames ...
const WHOLE_S: f64 = 1.0;
const WHOLE_FRAMES: f64 = 20.0;
/// ... or this share of what is usual.
const OF_USUAL: f64 = 0.5;

/// The measurement `duration`.
pub static DURATION: Metric = Metric::of_episode("duration", Unit::Second, "length of the episode");
static FRAMES: Metric = Metric::of_episode("frames", Unit::Count, "frames in it");
static SHORT_BY: Metric = Metric::of_episode(
    "short_by",
    Unit::Second,
    "missing to 1 s and 20 frames, or to half of the usual length where that is less",
)
.above(None, Some(0.0));

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
    metrics: &[&SHORT_BY, &DURATION, &FRAMES],
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
        Some(duration_s) => {
            let usual_s = study.episode.rig.usual_s.unwrap_or(f64::INFINITY);
            let per_frame_s = duration_s / frames.max(1) as f64;
            let whole_s = WHOLE_S.max(WHOLE_FRAMES * per_frame_s).min(OF_USUAL * usual_s);
            // The same length, but for rounding, is not short.
            let short_s = if duration_s < whole_s - 1e-6 { whole_s - duration_s } else { 0.0 };
            sheet.put(&SHORT_BY, short_s);
            sheet.put(&DURATION, duration_s);
        }
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
    fn half_a_second_is_aborted_unless_the_task_is_short() {
        for rate_hz in [10.0, 30.0, 100.0, 500.0] {
            let take = |seconds: f64, usual_s: Option<f64>| {
                let bench = Bench::at(rate_hz).seconds(seconds);
                bench.rig(|rig| rig.usual_s = usual_s).measure(&CHECK).value("short_by")
            };
            let whole_s: f64 = f64::max(1.0, 20.0 / rate_hz);
            assert!((take(0.6, None) - (whole_s - 0.6)).abs() < 0.01, "{rate_hz} Hz");
            assert!((take(0.6, Some(9.0)) - (whole_s - 0.6)).abs() < 0.01, "{rate_hz} Hz");
            assert_eq!(take(0.7, Some(0.8)), 0.0, "{rate_hz} Hz");
            assert!((take(0.3, Some(0.8)) - 0.1).abs() < 0.01, "{rate_hz} Hz");
            assert_eq!(take(2.5, Some(9.0)), 0.0, "{rate_hz} Hz");
        }
    }

    /// What the manual states: a length is known to one frame.
    #[test]
    fn the_resolution_of_the_manual_holds() {
        for rate_hz in [10.0, 30.0, 100.0, 500.0, 1000.0] {
            let frames = (2.5 * rate_hz) as usize;
            let read = |frames| Bench::at(rate_hz).frames(frames).measure(&CHECK).value("duration");
            let (whole, less) = (read(frames), read(frames - 1));
            assert!(
                (whole - frames as f64 / rate_hz).abs() < 1.0 / rate_hz,
                "{rate_hz} Hz: {whole}"
            );
            assert!((whole - less - 1.0 / rate_hz).abs() < 0.5 / rate_hz, "{rate_hz} Hz: {less}");
        }
    }

    #[test]
    fn frames_speak_where_stamps_do_not() {
        let back = |row: usize| if row > 40 { -1.0 } else { 0.0 };
        let bench = Bench::at(50.0).frames(100).moved_stamps(back).measure(&CHECK);
        assert!((bench.value("duration") - 2.0).abs() < 1e-9);
    }
}
