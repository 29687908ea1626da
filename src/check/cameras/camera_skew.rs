//! Images that were taken at another time than the row's joints.
//!
//! A policy then sees the arm where it was, not where it is; if the difference grows, two clocks
//! run at different speeds.
//!
//! How: stamp of the image minus stamp of the row, at rows with a new image: the size of the
//! median, in frame periods, and the median of the last tenth minus that of the first; of the
//! worst camera.
//!
//! Traps: stamps tell when an image arrived, not when it was exposed: a constant delay before that
//! is invisible. Stamps that differ by more than 10 s count from different zeros: then only the
//! drift is read. Where the rows' stamps were made, not measured, nothing is.

use super::images::NO_CAMERA;
use crate::check::prelude::{Check, Params, Study};
use crate::model::{CheckSpec, Extra, Family, Metric, Rig, Sheet, Unit};
use crate::num::quantile::median_in_place;

/// Stamps farther apart than this do not count from the same moment.
const OTHER_ZERO_S: f64 = 10.0;
const FEWEST: usize = 20;

static SKEW: Metric = Metric::of_episode(
    "skew_frames",
    Unit::Frames,
    "median time between image and row, worst camera",
)
.above(Some(0.5), Some(2.0));
static DRIFT: Metric = Metric::of_episode(
    "drift_frames",
    Unit::Frames,
    "change of that from the first to the last tenth, worst camera",
)
.above(Some(1.0), None);

static SPEC: CheckSpec = CheckSpec {
    id: "camera-skew",
    family: Family::Cameras,
    applies_to: crate::model::SignalKind::ALL,
    needs: crate::model::Relation::Nothing,
    advisory: false,
    source: include_str!("camera_skew.rs"),
    cause: "images wait in a buffer, or the camera's clock runs apart from the rows'",
    remedy: "take the newest image and stamp it on arrival by the rows' clock; empty the buffer",
    reference: "common practice, no source",
    metrics: &[&SKEW, &DRIFT],
    params: &[],
};

/// The worst camera's reading, and which it is.
type Worst = Option<(f64, usize)>;

/// The check; the head of this file is its manual.
pub static CHECK: Check =
    Check::of_episode(&SPEC, measure).extras(&[Extra::Cameras]).without(without);

fn without(rig: &Rig) -> Option<&'static str> {
    (!rig.extras.contains(&Extra::Cameras)).then_some(NO_CAMERA)
}

fn measure(study: &Study<'_>, _: &Params, sheet: &mut Sheet) {
    let Some(period_s) = study.period_s() else { return sheet.not_assessed("no frame period") };
    if study.clock().synthetic {
        return sheet.not_assessed("the rows' stamps were made, not measured");
    }
    let cameras = &study.episode.extras.cameras;
    let (mut skew, mut drift): (Worst, Worst) = (None, None);
    let mut apart = false;
    for (number, camera) in cameras.iter().enumerate() {
        let Some(stamps) = &camera.stamp_s else { continue };
        let mut late = lateness(stamps, &study.episode.time_s);
        if late.len() < FEWEST {
            continue;
        }
        let tenth = (late.len() / 10).max(FEWEST / 4);
        let first = median_in_place(&mut late[..tenth].to_vec());
        let last_from = late.len() - tenth;
        let last = median_in_place(&mut late[last_from..].to_vec());
        let worse = |kept: &mut Worst, frames: f64| {
            if kept.is_none_or(|(known, _)| frames > known) {
                *kept = Some((frames, number));
            }
        };
        worse(&mut drift, (last - first).abs() / period_s);
        let median_s = median_in_place(&mut late);
        if median_s.abs() > OTHER_ZERO_S {
            apart = true;
        } else {
            worse(&mut skew, median_s.abs() / period_s);
        }
    }
    if drift.is_none() {
        return sheet.not_assessed("no camera has 20 stamps");
    }
    if skew.is_none() && apart {
        sheet.not_assessed("the camera's stamps count from another zero: only their drift is read");
    }
    for (metric, found) in [(&SKEW, skew), (&DRIFT, drift)] {
        let Some((frames, camera)) = found else { continue };
        sheet.put(metric, frames);
        if cameras.len() > 1 {
            sheet.note(format!("camera {}", cameras[camera].name));
        }
    }
}

/// Stamp of the image minus that of the row, where the image is a new one.
fn lateness(images: &[f64], rows: &[f64]) -> Vec<f64> {
    let mut late = Vec::with_capacity(rows.len());
    let mut before = f64::NAN;
    for (image, row) in images.iter().zip(rows) {
        if *image != before && (image - row).is_finite() {
            late.push(image - row);
        }
        before = *image;
    }
    late
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::testing::{Bench, Measured, jitter_s};
    use crate::model::CameraTrack;

    /// A camera whose images are this much later than the rows, by the time of the row.
    fn read(rate_hz: f64, late_s: impl Fn(f64) -> f64) -> Measured {
        let mut episode = Bench::at(rate_hz).seconds(30.0).episode();
        let stamp = |(row, t): (usize, &f64)| t + late_s(*t) + jitter_s(row, 5e-4);
        let stamp_s = Some(episode.time_s.iter().enumerate().map(stamp).collect());
        let name = "wrist".into();
        episode.extras.cameras.push(CameraTrack { name, rate_hz: None, index: None, stamp_s });
        Measured::of(&CHECK, &episode)
    }

    #[test]
    fn a_constant_delay_is_read_in_frames() {
        for rate_hz in [25.0, 30.0, 50.0, 100.0, 200.0] {
            for frames in [0.2, 0.8, 3.0] {
                let read = read(rate_hz, |_| -frames / rate_hz);
                let (skew, drift) = (read.value("skew_frames"), read.value("drift_frames"));
                assert!((skew - frames).abs() < 0.03, "{rate_hz} Hz: {skew} for {frames}");
                assert!(drift < 0.2, "{rate_hz} Hz: {drift}");
            }
        }
    }

    #[test]
    fn clocks_that_run_apart_drift_even_from_another_zero() {
        let read = read(30.0, |t| 1.7e9 + 0.003 * t);
        assert!(read.missing("skew_frames") && read.is_not_assessed("another zero"));
        // 0.3 % of 27 s, between the middles of the first and the last tenth.
        assert!((read.value("drift_frames") - 0.081 * 30.0).abs() < 0.1, "{read:?}");
    }

    #[test]
    fn a_slower_camera_is_looked_at_where_its_images_are_new() {
        let mut episode = Bench::at(60.0).seconds(20.0).episode();
        let stamps: Vec<f64> =
            (0..episode.frames()).map(|row| episode.time_s[row / 4 * 4] - 0.004).collect();
        let (name, stamp_s) = ("top".into(), Some(stamps));
        episode.extras.cameras.push(CameraTrack { name, rate_hz: None, index: None, stamp_s });
        let read = Measured::of(&CHECK, &episode);
        assert!((read.value("skew_frames") - 0.24).abs() < 0.02, "{read:?}");
    }

    #[test]
    fn made_stamps_say_nothing() {
        let mut episode = Bench::at(30.0).moved_stamps(|_| 0.0).episode();
        let stamp_s = Some(episode.time_s.clone());
        let name = "top".into();
        episode.extras.cameras.push(CameraTrack { name, rate_hz: None, index: None, stamp_s });
        assert!(Measured::of(&CHECK, &episode).is_not_assessed("made, not measured"));
    }
}
