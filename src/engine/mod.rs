//! Runs the checks over a source: waves of shards on all cores, one scorecard per episode.
//!
//! Floor 5, and the only module with threads.
