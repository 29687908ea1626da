//! `watch` with the real binary, and another process that writes.

mod day;
mod offset;
mod resume;
mod running;
mod styles;
