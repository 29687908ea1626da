//! Every integration test, in one binary: linking the data libraries once is what takes the time.

mod cli;
mod comparison;
mod crosscheck;
mod demo;
mod fault_benchmark;
mod hostile;
mod keep;
mod layers;
mod layouts;
mod measuring;
mod properties;
mod reading;
mod real;
mod reference;
mod scenes;
mod support;
mod watch;
mod words;

// The benchmarks that are run here, too, have it at their root.
use support::memory;
