//! Finds the files of a dataset: paths, folders and patterns, in natural order.

pub(in crate::source) mod find;
pub(in crate::source) mod hash;
pub(in crate::source) mod natural;
mod others;
