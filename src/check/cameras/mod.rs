//! Cameras: does every row have its own image, taken when the row was?

pub mod camera_frames;
pub mod camera_skew;
mod images;

/// Why the checks of cameras have nothing to look at.
pub(super) const NO_CAMERA: &str = "no camera columns";
