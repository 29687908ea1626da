//! Tracking: how does the follower follow?

pub mod backlash;
mod carried_off;
mod evidence;
pub mod external_disturbance;
pub mod gain_mismatch;
pub mod grasp;
pub mod gravity_sag;
mod lag_course;
pub mod lag_variation;
pub mod neutral_offset;
mod stops;
pub mod tracking_error;
pub mod tracking_lag;
pub mod tracking_loss;
