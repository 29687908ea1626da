//! Signal: is every value there, is it new, is it right, and does every joint answer?

pub mod coarse_quantisation;
pub mod dead_joint;
pub mod decode_error;
pub mod encoder_wrap;
pub mod frozen_follower;
pub mod frozen_leader;
pub mod leader_stick_slip;
pub mod limit_cycle;
pub mod missing_values;
pub mod motion_oscillation;
pub mod reading_held;
pub mod servo_temperature;
pub mod spikes;
pub mod stale_readings;
