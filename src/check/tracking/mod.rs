//! Tracking: how does the follower follow?

pub mod backlash;
mod evidence;
pub mod follower_pushed;
pub mod gain_mismatch;
pub mod grasp;
pub mod gravity_sag;
mod lag_course;
pub mod lag_steadiness;
pub mod lost_following;
pub mod neutral_offset;
pub mod tracking_error;
pub mod tracking_lag;
