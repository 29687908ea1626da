//! Rows become episodes: the index of each file, the plan of the dataset, shards, and reading.

pub(in crate::source) mod convert;
pub(in crate::source) mod cut;
pub(in crate::source) mod distinct;
pub(in crate::source) mod frames;
pub(in crate::source) mod index;
pub(in crate::source) mod layout;
pub(in crate::source) mod nested;
mod numbers;
pub(in crate::source) mod plan;
pub(in crate::source) mod read;
pub(in crate::source) mod runs;
pub(in crate::source) mod stamps;
pub(in crate::source) mod vectors;
pub(in crate::source) mod wanted;
pub(in crate::source) mod widths;
