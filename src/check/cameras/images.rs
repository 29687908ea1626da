//! How a camera's images go on from row to row.

use crate::model::CameraTrack;
use crate::num::quantile::median_in_place;

/// Why the checks of cameras have nothing to look at.
pub(super) const NO_CAMERA: &str = "no camera columns";

/// Rows of one camera, those without an image left out.
#[derive(Debug)]
pub(super) struct Images {
    /// Row of each entry of `advance`.
    pub rows: Vec<usize>,
    /// Images that the camera has gone on since the row before.
    pub advance: Vec<f64>,
}

impl Images {
    /// By the images' numbers, or else by their stamps in steps of the camera's usual one; `None`
    /// where a camera shows nothing.
    pub fn of(camera: &CameraTrack) -> Option<Self> {
        match (&camera.index, &camera.stamp_s) {
            (Some(index), _) => Self::between(index, |step| step),
            (None, Some(stamps)) => {
                let steps = stamps.windows(2).map(|pair| pair[1] - pair[0]);
                let mut moved: Vec<f64> = steps.filter(|step| *step > 0.0).collect();
                let usual_s = median_in_place(&mut moved);
                // A stamp that has hardly moved on is the same image, stamped as it was read.
                Self::between(stamps, |step| (step / usual_s).round())
            }
            (None, None) => None,
        }
    }

    fn between(values: &[f64], images: impl Fn(f64) -> f64) -> Option<Self> {
        let (mut rows, mut advance) = (Vec::new(), Vec::new());
        let mut before: Option<f64> = None;
        for (row, value) in values.iter().enumerate().filter(|(_, value)| value.is_finite()) {
            if let Some(before) = before {
                let step = images(value - before);
                if !step.is_finite() {
                    return None;
                }
                rows.push(row);
                advance.push(step);
            }
            before = Some(*value);
        }
        (!rows.is_empty()).then_some(Self { rows, advance })
    }
}
