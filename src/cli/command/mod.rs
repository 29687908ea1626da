//! One file per command: settings in, output out.

pub mod audit;
pub mod columns;
pub mod demo;
pub mod explain;
