//! Images that come twice or not at all: a camera that stalls, drops, or halves its rate.
//!
//! The row's joints belong to one moment and its image to another; a policy learns from an eye
//! that stutters.
//!
//! How: the images that each camera goes on from row to row, by their number or else by their
//! stamps in steps of the camera's usual one. A camera's pace is what its rate and the rows' rate
//! (both declared) make it, else one a row if at least 88 % of the rows go on by one, else the
//! median of its stretches of one second. A row repeats its
//! image if that stays longer than the pace explains; images are skipped where it goes on
//! farther than the pace explains; a repeat with a skip within two rows is the beat of two clocks
//! and neither. In half-rate mode are the seconds whose pace is half of the camera's own. The
//! readings are shares of the rows, of the worst camera.
//!
//! Traps: an image that never changes is not assessed: the column may be no counter. A camera that
//! is slower or faster throughout is taken to be meant so, unless its rate is declared at
//! `[[camera]]`. Less than two seconds are not assessed.

use super::images::{Images, NO_CAMERA};
use crate::check::prelude::{Check, Params, Study};
use crate::model::{CheckSpec, Extra, Family, FrameSpan, Metric, Rig, Sheet, SpanList, Unit};
use crate::num::quantile::median_in_place;

/// With so many rows that go on by one image the camera goes with the rows: the rest are faults.
const EVEN: f64 = 0.88;

static REPEATED_SHARE: Metric = Metric::of_episode(
    "repeated_share",
    Unit::Share,
    "share of rows that repeat an image, worst camera",
)
.above(Some(0.01), Some(0.05));
static SKIPPED_SHARE: Metric = Metric::of_episode(
    "skipped_share",
    Unit::Share,
    "skipped images over the number of rows, worst camera",
)
.above(Some(0.01), Some(0.05));
static HALF_RATE_SHARE: Metric = Metric::of_episode(
    "half_rate_share",
    Unit::Share,
    "share of the time at half the camera's rate, worst camera",
)
.above(Some(0.01), Some(0.05));

static SPEC: CheckSpec = CheckSpec {
    id: "camera-frames",
    family: Family::Cameras,
    applies_to: crate::model::SignalKind::ALL,
    needs: crate::model::Relation::Nothing,
    advisory: false,
    source: include_str!("camera_frames.rs"),
    cause: "a camera stalls, loses images, or lengthens its exposure in low light",
    remedy: "fix the exposure or add light; give each camera its own bus and thread; fewer pixels",
    reference: "half the rate in low light: common practice, no source",
    metrics: &[&REPEATED_SHARE, &SKIPPED_SHARE, &HALF_RATE_SHARE],
    params: &[],
};

/// The check; the head of this file is its manual.
pub static CHECK: Check =
    Check::of_episode(&SPEC, measure).extras(&[Extra::Cameras]).without(without);

fn without(rig: &Rig) -> Option<&'static str> {
    (!rig.extras.contains(&Extra::Cameras)).then_some(NO_CAMERA)
}

fn measure(study: &Study<'_>, _: &Params, sheet: &mut Sheet) {
    let Some(period_s) = study.period_s() else { return sheet.not_assessed("no frame period") };
    let second = ((1.0 / period_s).round() as usize).max(8);
    let mut worst: [Option<Faults>; 3] = [None, None, None];
    let cameras = &study.episode.extras.cameras;
    let mut constant = false;
    for (number, camera) in cameras.iter().enumerate() {
        let Some(images) = Images::of(camera) else { continue };
        if images.advance.len() < 2 * second {
            continue;
        }
        if images.advance.iter().all(|step| *step == 0.0) {
            let name = &camera.name;
            sheet.not_assessed(format!("camera {name} shows one image: frozen, or no counter"));
            constant = true;
            continue;
        }
        let declared = camera.rate_hz.map(|rate_hz| rate_hz * period_s);
        for (kept, found) in worst.iter_mut().zip(faults(number, &images, declared, second)) {
            if kept.as_ref().is_none_or(|known| found.share > known.share) {
                *kept = Some(found);
            }
        }
    }
    if worst.iter().all(Option::is_none) && !constant {
        return sheet.not_assessed("less than two seconds with images");
    }
    for (metric, faults) in SPEC.metrics.iter().copied().zip(worst) {
        let Some(Faults { camera, share, spans }) = faults else { continue };
        sheet.put_spans(metric, None, share, spans);
        if cameras.len() > 1 {
            sheet.note(format!("camera {}", cameras[camera].name));
        }
    }
}

/// One kind of fault of one camera.
struct Faults {
    camera: usize,
    share: f64,
    spans: SpanList,
}

/// Repeats, skips and half rate of one camera, in the order of the metrics.
fn faults(camera: usize, images: &Images, declared: Option<f64>, second: usize) -> [Faults; 3] {
    let advance = &images.advance;
    let total = advance.len() as f64;
    let paces: Vec<f64> =
        advance.chunks_exact(second).map(|s| s.iter().sum::<f64>() / second as f64).collect();
    let pace = declared.unwrap_or_else(|| {
        let singles = advance.iter().filter(|step| **step == 1.0).count();
        let even = singles as f64 >= EVEN * total;
        if even { 1.0 } else { median_in_place(&mut paces.clone()) }
    });
    let pace = if (pace - 1.0).abs() < 0.05 { 1.0 } else { pace };
    let beat = beats(advance);
    let of_row = |at: usize| FrameSpan::new(images.rows[at].saturating_sub(1), images.rows[at] + 1);

    // At its pace an image is there for so many rows, and one more for a clock that beats.
    let stays = if pace >= 1.0 { 1 } else { (1.0 / pace.max(1e-3)).floor() as usize + 1 };
    let goes = if pace <= 1.0 { 1.0 } else { pace.floor() + 1.0 };
    let (mut repeats, mut skips, mut skipped, mut stayed) = (Vec::new(), Vec::new(), 0.0, 1);
    for (at, step) in advance.iter().enumerate() {
        stayed = if *step == 0.0 { stayed + 1 } else { 1 };
        if stayed > stays && !beat[at] {
            repeats.push(of_row(at));
        }
        if *step > goes && !beat[at] {
            skipped += step - goes;
            skips.push((of_row(at), *step));
        }
    }
    let slow = |pace_here: &f64| (0.4..=0.62).contains(&(pace_here / pace));
    let half: Vec<usize> =
        paces.iter().enumerate().filter(|(_, here)| slow(here)).map(|(n, _)| n).collect();
    let stretch = |n: &usize| {
        FrameSpan::new(
            images.rows[n * second].saturating_sub(1),
            images.rows[(n + 1) * second - 1] + 1,
        )
    };
    [
        Faults {
            camera,
            share: repeats.len() as f64 / total,
            spans: SpanList::longest(repeats.iter().copied()),
        },
        Faults { camera, share: skipped / total, spans: SpanList::worst(skips) },
        Faults {
            camera,
            share: half.len() as f64 / paces.len() as f64,
            spans: SpanList::longest(half.iter().map(stretch)),
        },
    ]
}

/// Steps that are a repeat made up for by a skip within two rows, or the other way round.
fn beats(advance: &[f64]) -> Vec<bool> {
    let mut beat = vec![false; advance.len()];
    for at in 0..advance.len() {
        if advance[at] != 0.0 || beat[at] {
            continue;
        }
        let near = [at + 1, at.wrapping_sub(1), at + 2, at.wrapping_sub(2)];
        let partner = near.into_iter().find(|n| advance.get(*n) == Some(&2.0) && !beat[*n]);
        if let Some(partner) = partner {
            (beat[at], beat[partner]) = (true, true);
        }
    }
    beat
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::testing::{Bench, Measured, jitter_s};
    use crate::model::{CameraTrack, Episode};

    /// An episode of 20 s whose camera shows, at each row, the image of this number.
    fn shown(rate_hz: f64, number: impl Fn(usize) -> f64) -> Episode {
        let mut episode = Bench::at(rate_hz).seconds(20.0).episode();
        let index = (0..episode.frames()).map(number).collect();
        let name = "wrist".into();
        let track = CameraTrack { name, rate_hz: None, index: Some(index), stamp_s: None };
        episode.extras.cameras.push(track);
        episode
    }

    /// The newest image of a camera of this rate, at rows with 1 ms of jitter.
    fn newest(rate_hz: f64, camera_hz: f64) -> impl Fn(usize) -> f64 {
        move |row| ((row as f64 / rate_hz + jitter_s(row, 1e-3) + 0.31) * camera_hz).floor()
    }

    #[test]
    fn a_sound_camera_of_any_rate_has_neither_repeats_nor_skips() {
        for (rate_hz, camera_hz) in [
            (25.0, 25.0),
            (30.0, 29.97),
            (30.0, 60.0),
            (50.0, 30.0),
            (60.0, 30.0),
            (100.0, 30.0),
            (200.0, 15.0),
        ] {
            let read = Measured::of(&CHECK, &shown(rate_hz, newest(rate_hz, camera_hz)));
            for metric in ["repeated_share", "skipped_share", "half_rate_share"] {
                assert!(read.value(metric) <= 0.005, "{rate_hz}/{camera_hz} Hz {metric}: {read:?}");
            }
        }
    }

    #[test]
    fn stalls_and_losses_are_counted() {
        for rate_hz in [25.0, 30.0, 50.0, 100.0] {
            // Every 50th row keeps the image before; images are lost elsewhere.
            let stalls = shown(rate_hz, |row| (row - row / 50) as f64);
            let read = Measured::of(&CHECK, &stalls).value("repeated_share");
            assert!((read - 0.02).abs() < 0.003, "{rate_hz} Hz: {read}");
            let lost = shown(rate_hz, |row| (row + 3 * (row / 50)) as f64);
            let read = Measured::of(&CHECK, &lost);
            assert!((read.value("skipped_share") - 0.06).abs() < 0.008, "{rate_hz} Hz: {read:?}");
            assert_eq!(read.value("repeated_share"), 0.0);
            assert_eq!(read.spans("skipped_share")[0], (49, 51));
        }
    }

    #[test]
    fn a_image_that_never_changes_is_no_pass() {
        let read = Measured::of(&CHECK, &shown(30.0, |_| 7.0));
        assert!(read.missing("repeated_share") && read.is_not_assessed("shows one image"));
    }

    #[test]
    fn low_light_halves_the_rate_and_a_slow_camera_is_only_slow() {
        let dim =
            |row: usize| if row < 300 { row as f64 } else { 300.0 + ((row - 300) / 2) as f64 };
        let read = Measured::of(&CHECK, &shown(30.0, dim));
        assert!((read.value("half_rate_share") - 0.5).abs() < 0.06, "{read:?}");
        let mut slow = shown(30.0, |row| (row / 2) as f64);
        let read = Measured::of(&CHECK, &slow);
        assert_eq!((read.value("half_rate_share"), read.value("repeated_share")), (0.0, 0.0));
        // Where the camera is said to give 30 images a second, it is not.
        slow.extras.cameras[0].rate_hz = Some(30.0);
        assert_eq!(Measured::of(&CHECK, &slow).value("half_rate_share"), 1.0);
    }

    #[test]
    fn stamps_do_as_well_as_numbers_and_the_worst_camera_is_named() {
        let mut episode = shown(30.0, |row| row as f64);
        let stamp_s = (0..episode.frames()).map(|row| {
            let image = row - row / 25;
            5.0 + image as f64 / 30.0 + jitter_s(image, 2e-3)
        });
        let stamp_s = Some(stamp_s.collect());
        let name = "top".into();
        episode.extras.cameras.push(CameraTrack { name, rate_hz: None, index: None, stamp_s });
        let read = Measured::of(&CHECK, &episode);
        assert!((read.value("repeated_share") - 0.04).abs() < 0.004, "{read:?}");
        let noted = read.readings.iter().find(|r| r.metric.id == "repeated_share");
        assert_eq!(noted.and_then(|r| r.note.as_deref()), Some("camera top"));
    }
}
