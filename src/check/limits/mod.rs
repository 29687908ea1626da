//! Limits: does a joint run out of travel or speed?

pub mod leader_overreach;
pub mod limit_dwell;
pub mod overspeed;
