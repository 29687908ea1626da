//! The catalogue: every check, of episodes and of sessions, and how they relate.
//!
//! Layer 4: knows the checks below it. A new check adds its `mod` line in its folder and its line
//! here.

#[cfg(test)]
mod advice;
#[cfg(test)]
mod kinds;
mod relations;

use crate::check::{Check, base, cameras, limits, mapping, motion, signal, timing, tracking};
use crate::cohort;
use crate::model::CheckSpec;

pub use relations::{Reach, SUPPRESSIONS};

/// All checks, in the order in which a person reads them. Those of sessions come last, a cause
/// before what it suppresses.
pub static ALL: &[&Check] = &[
    &timing::dropped_frames::CHECK,
    &timing::repeated_frames::CHECK,
    &timing::timestamp_jitter::CHECK,
    &timing::frame_rate::CHECK,
    &timing::non_monotonic_time::CHECK,
    &timing::clock_source::CHECK,
    &timing::hidden_drops::CHECK,
    &signal::missing_values::CHECK,
    &signal::dead_joint::CHECK,
    &signal::frozen_follower::CHECK,
    &signal::frozen_leader::CHECK,
    &signal::stale_readings::CHECK,
    &signal::reading_held::CHECK,
    &signal::spikes::CHECK,
    &signal::encoder_wrap::CHECK,
    &signal::orientation_jumps::CHECK,
    &signal::decode_error::CHECK,
    &signal::coarse_quantisation::CHECK,
    &signal::limit_cycle::CHECK,
    &signal::motion_oscillation::CHECK,
    &signal::leader_stick_slip::CHECK,
    &signal::servo_temperature::CHECK,
    &limits::limit_dwell::CHECK,
    &mapping::arm_swap::CHECK,
    &mapping::joint_swap::CHECK,
    &mapping::sign_flip::CHECK,
    &mapping::unit_mismatch::CHECK,
    &mapping::action_kind::CHECK,
    &mapping::two_arm_consistency::CHECK,
    &limits::leader_overreach::CHECK,
    &limits::overspeed::CHECK,
    &tracking::tracking_lag::CHECK,
    &tracking::tracking_error::CHECK,
    &tracking::lag_variation::CHECK,
    &tracking::neutral_offset::CHECK,
    &tracking::gain_mismatch::CHECK,
    &tracking::backlash::CHECK,
    &tracking::gravity_sag::CHECK,
    &tracking::tracking_loss::CHECK,
    &tracking::external_disturbance::CHECK,
    &tracking::grasp::CHECK,
    &motion::duration::CHECK,
    &motion::idle_time::CHECK,
    &motion::cut_short::CHECK,
    &motion::reset_motion::CHECK,
    &motion::action_steps::CHECK,
    &motion::smoothness::CHECK,
    &motion::path_efficiency::CHECK,
    &cameras::camera_frames::CHECK,
    &cameras::camera_skew::CHECK,
    &base::base_motion::CHECK,
    &cohort::contact_outlier::CHECK,
    &cohort::stick_slip_outlier::CHECK,
    &cohort::motion_outlier::CHECK,
    &cohort::duration_outlier::CHECK,
    &cohort::outlier_episode::CHECK,
    &cohort::path_outlier::CHECK,
    &cohort::start_pose::CHECK,
    &cohort::missing_grasp::CHECK,
    &cohort::task_label::CHECK,
    &cohort::mixed_endings::CHECK,
    &cohort::mixed_speeds::CHECK,
    &cohort::session_drift::CHECK,
    &cohort::duplicate_episode::CHECK,
    &cohort::constant_dimension::CHECK,
    &cohort::action_consistency::CHECK,
    &cohort::coverage::CHECK,
];

/// The check with this id.
pub fn find(id: &str) -> Option<&'static Check> {
    all().find(|check| check.spec.id == id)
}

/// The check of single episodes with this id.
pub fn find_of_episodes(id: &str) -> Option<&'static Check> {
    find(id).filter(|check| check.reads_episodes())
}

/// All checks.
pub fn all() -> impl Iterator<Item = &'static Check> {
    ALL.iter().copied()
}

/// The checks that read single episodes.
pub fn of_episodes() -> impl Iterator<Item = &'static Check> {
    all().filter(|check| check.reads_episodes())
}

/// The checks that read a session.
pub fn of_sessions() -> impl Iterator<Item = &'static Check> {
    all().filter(|check| !check.reads_episodes())
}

/// What all checks declare.
pub fn specs() -> impl Iterator<Item = &'static CheckSpec> {
    all().map(|check| check.spec)
}
