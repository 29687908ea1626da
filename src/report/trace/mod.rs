//! One episode drawn joint by joint: the leader dashed, the follower solid, flagged spans marked.
//!
//! A terminal and an image have far fewer columns than an episode has frames: each column shows
//! the minimum and the maximum in it, so that no peak is lost.

mod axis;
mod canvas;
mod marks;
mod records;
mod stroke;
mod svg;
mod terminal;
mod traced;

pub use records::trace_records;
pub use svg::trace_svg;
pub use terminal::trace;
pub use traced::Traced;
