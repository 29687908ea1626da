//! `watch` with the real binary, and another process that writes.

mod day;
mod faults;
mod offset;
mod outputs;
mod resume;
mod rig;
mod running;
mod styles;
