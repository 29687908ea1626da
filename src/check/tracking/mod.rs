//! Tracking: how does the follower follow?

pub mod tracking_error;
pub mod tracking_lag;
