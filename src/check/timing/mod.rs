//! Timing: is there a frame for every period, in order, with an honest stamp?

pub mod clock_source;
pub mod dropped_frames;
pub mod frame_rate;
pub mod hidden_drops;
pub mod non_monotonic_time;
pub mod repeated_frames;
pub mod timestamp_jitter;
