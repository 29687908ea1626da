//! What several integration tests need.

pub mod binary;
pub mod card;
pub mod python;
pub mod recipes;
