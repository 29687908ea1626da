//! One file per command: settings in, output out.

pub mod audit;
pub mod columns;
pub mod compare;
pub mod completions;
pub mod demo;
pub mod explain;
pub mod judge;
pub mod keep;
pub mod man;
pub mod trace;
pub mod watch;
