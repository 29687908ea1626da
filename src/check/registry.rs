//! Every check of the house. Adding one: its `mod` line in its family, and its line here.

use super::{Check, limits, signal, timing, tracking};

/// All checks, in the order in which a person reads them.
pub static CHECKS: &[&dyn Check] = &[
    &timing::dropped_frames::DroppedFrames,
    &timing::repeated_frames::RepeatedFrames,
    &timing::timestamp_jitter::TimestampJitter,
    &timing::frame_rate::FrameRate,
    &timing::clock_order::ClockOrder,
    &timing::clock_source::ClockSource,
    &signal::missing_values::MissingValues,
    &signal::dead_joint::DeadJoint,
    &limits::limit_dwell::LimitDwell,
    &tracking::tracking_lag::TrackingLag,
    &tracking::tracking_error::TrackingError,
];

/// The check with this id.
pub fn find(id: &str) -> Option<&'static dyn Check> {
    CHECKS.iter().copied().find(|check| check.spec().id == id)
}
