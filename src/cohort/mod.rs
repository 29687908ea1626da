//! Checks that look at all episodes together.
//!
//! Layer 3: knows layers 0 to 2. Sees the ledger of measurements, never frames.

pub mod action_consistency;
pub mod constant_dimension;
pub mod contact_outlier;
pub mod coverage;
pub mod duplicate_episode;
pub mod duration_outlier;
pub mod missing_grasp;
pub mod mixed_endings;
pub mod mixed_speeds;
pub mod motion_outlier;
#[cfg(test)]
mod motions;
pub mod outlier_episode;
pub mod path_outlier;
mod paths;
mod rows;
pub mod session_drift;
pub mod start_pose;
pub mod stick_slip_outlier;
pub mod task_label;
mod usual;

pub mod normalisation;
