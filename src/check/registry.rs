//! Every check of the house. Adding one: its `mod` line in its family, and its line here.

use super::{Check, base, cameras, limits, mapping, motion, signal, timing, tracking};

/// All checks, in the order in which a person reads them.
pub static CHECKS: &[&dyn Check] = &[
    &timing::dropped_frames::DroppedFrames,
    &timing::repeated_frames::RepeatedFrames,
    &timing::timestamp_jitter::TimestampJitter,
    &timing::frame_rate::FrameRate,
    &timing::non_monotonic_time::NonMonotonicTime,
    &timing::clock_source::ClockSource,
    &timing::hidden_drops::HiddenDrops,
    &signal::missing_values::MissingValues,
    &signal::dead_joint::DeadJoint,
    &signal::frozen_follower::FrozenFollower,
    &signal::frozen_leader::FrozenLeader,
    &signal::stale_readings::StaleReadings,
    &signal::spikes::Spikes,
    &signal::encoder_wrap::EncoderWrap,
    &signal::decode_error::DecodeError,
    &signal::coarse_quantisation::CoarseQuantisation,
    &signal::limit_cycle::LimitCycle,
    &signal::leader_stick_slip::LeaderStickSlip,
    &signal::servo_temperature::ServoTemperature,
    &limits::limit_dwell::LimitDwell,
    &mapping::arm_swap::ArmSwap,
    &mapping::joint_swap::JointSwap,
    &mapping::sign_flip::SignFlip,
    &mapping::unit_mismatch::UnitMismatch,
    &mapping::action_kind::ActionKind,
    &mapping::two_arm_consistency::TwoArmConsistency,
    &limits::leader_overreach::LeaderOverreach,
    &limits::overspeed::Overspeed,
    &tracking::tracking_lag::TrackingLag,
    &tracking::tracking_error::TrackingError,
    &tracking::lag_variation::LagVariation,
    &tracking::neutral_offset::NeutralOffset,
    &tracking::gain_mismatch::GainMismatch,
    &tracking::backlash::Backlash,
    &tracking::gravity_sag::GravitySag,
    &tracking::tracking_loss::TrackingLoss,
    &tracking::external_disturbance::ExternalDisturbance,
    &tracking::grasp::Grasp,
    &motion::duration::Duration,
    &motion::idle_time::IdleTime,
    &motion::cut_short::CutShort,
    &motion::reset_motion::ResetMotion,
    &motion::action_steps::ActionSteps,
    &motion::smoothness::Smoothness,
    &motion::path_efficiency::PathEfficiency,
    &cameras::camera_frames::CameraFrames,
    &cameras::camera_skew::CameraSkew,
    &base::base_motion::BaseMotion,
];

/// The check with this id.
pub fn find(id: &str) -> Option<&'static dyn Check> {
    CHECKS.iter().copied().find(|check| check.spec().id == id)
}
