//! What several integration tests need.

pub mod binary;
pub mod card;
pub mod measured;
pub mod memory;
pub mod python;
pub mod recipes;
pub mod rust;
pub mod tables;
