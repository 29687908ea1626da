//! Cameras: does every row have its own image, taken when the row was?

pub mod camera_frames;
pub mod camera_skew;
mod images;
