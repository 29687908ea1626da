//! One episode, with what several checks need worked out once and on first use.

mod basis;
mod blocks;
mod clock;
mod ends;
mod following;
mod kind;
mod likeness;
mod motion;
mod path;
mod range;
mod settings;
mod steps;
mod trace;
mod traces;
mod whole;
mod whole_study;

pub use crate::model::METRES_A_RADIAN;
pub use blocks::{Blocks, spread};
pub use clock::Clock;
pub use following::{Aligned, Following, LEAST_MOTION_M, LEAST_MOTION_RAD};
pub use motion::{Motion, chord, weight};
pub use range::range;
pub use settings::Settings;
pub use trace::{Fit, Hold, Trace};
pub use traces::Traced;
pub use whole_study::{Study, in_contact};
