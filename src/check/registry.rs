//! Every check of the house. Adding one: its `mod` line in its family, and its line here.

use super::{Check, limits, mapping, signal, timing, tracking};

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
    &mapping::arm_swap::ArmSwap,
    &mapping::joint_swap::JointSwap,
    &mapping::sign_flip::SignFlip,
    &mapping::unit_mismatch::UnitMismatch,
    &mapping::action_kind::ActionKind,
    &tracking::tracking_lag::TrackingLag,
    &tracking::tracking_error::TrackingError,
    &tracking::neutral_offset::NeutralOffset,
    &tracking::gain_mismatch::GainMismatch,
    &tracking::backlash::Backlash,
    &tracking::gravity_sag::GravitySag,
    &tracking::lost_following::LostFollowing,
    &tracking::follower_pushed::FollowerPushed,
    &tracking::grasp::Grasp,
];

/// The check with this id.
pub fn find(id: &str) -> Option<&'static dyn Check> {
    CHECKS.iter().copied().find(|check| check.spec().id == id)
}
