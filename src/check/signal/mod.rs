//! Signal: is every value there, and does every joint answer?

pub mod dead_joint;
pub mod missing_values;
