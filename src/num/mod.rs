//! Slices in, numbers out: the estimators, without a word of robots.
//!
//! Floor 0: knows nothing of the rest of the crate.
