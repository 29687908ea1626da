//! Limits: does a joint run out of travel?

pub mod limit_dwell;
