//! A simulated leader-follower rig, used by the `demo` command and by the tests.
//!
//! The scenario is a seedling nursery: an arm takes seedling plugs from a tray and sets them into
//! pots. The chain is physical, not an estimator inverted: a hand moves the leader, the
//! follower's servo gets the leader's counts one control cycle at a time, over a bus with dead
//! time, and drives gears with backlash against gravity, in steps of 2 ms; a logger with a loop of its
//! own then samples both. Faults are planted where they arise, and every recording carries
//! the truth of what was planted in it.
//!
//! Layer 2: knows [`crate::model`]. Equal recipes give equal recordings, bit for bit.

mod answers;
mod arm;
mod batch;
mod columns;
mod command;
mod disturbance;
mod error;
mod fault;
mod hand;
mod leading;
mod logger;
mod nursery;
mod pick;
mod place;
mod plan;
mod planted;
mod profile;
mod readings;
mod recipe;
mod recording;
mod requests;
mod rows;
mod servo;
mod simulate;
mod write;

#[cfg(test)]
mod evidence;

pub use answers::{ANSWERS_SCHEMA, AnswerKey, EpisodeAnswers};
pub use batch::Layout;
pub use error::DemoError;
pub use fault::Fault;
pub use nursery::healthy;
pub use planted::Planted;
pub use profile::profile_toml;
pub use recipe::{Logger, Operator, Recipe, Servo, StoredUnit};
pub use recording::{Answer, JointTruth, Recording, Truth};
pub use simulate::{Simulator, simulate};
pub use write::{WriteOptions, Written, write};
