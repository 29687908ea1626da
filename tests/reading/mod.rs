//! The loader: every layout gives the same episodes, every fault one clear line.
//!
//! What is expected comes from the rows that a test wrote with the arrow and parquet crates, not
//! from the loader.

mod bad_input;
mod chosen;
mod cutting;
mod extras;
mod faults;
mod layouts;
mod random;
mod rig_facts;
mod roles;
mod support;
mod times;
