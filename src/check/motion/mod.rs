//! Motion: what the operator did, how long, how smoothly.

pub mod action_steps;
pub mod cut_short;
pub mod duration;
pub mod idle_time;
pub mod path_efficiency;
pub mod reset_motion;
pub mod smoothness;
