//! Mapping: does every column hold what it is called, with the right sign and unit?

pub mod action_kind;
pub mod arm_swap;
pub mod joint_swap;
pub mod sign_flip;
pub mod two_arm_consistency;
pub mod unit_mismatch;
