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
#[cfg(any(test, feature = "internals"))]
mod healthy;
mod leading;
mod logger;
mod nursery;
mod part;
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
#[cfg(any(test, feature = "internals"))]
mod testing;
mod write;

#[cfg(test)]
mod evidence;

pub use batch::Layout;
pub use error::DemoError;
pub use recipe::Recipe;
pub use write::{WriteOptions, write};

// What tests and benchmarks make sessions with.
#[cfg(feature = "internals")]
pub use answers::{ANSWERS_SCHEMA, AnswerKey, EpisodeAnswers};
#[cfg(any(test, feature = "internals"))]
pub use fault::Fault;
#[cfg(any(test, feature = "internals"))]
pub use healthy::healthy;
#[cfg(feature = "internals")]
pub use planted::Planted;
#[cfg(feature = "internals")]
pub use profile::profile_toml;
#[cfg(any(test, feature = "internals"))]
pub use recipe::{Logger, Operator, Servo, StoredUnit};
#[cfg(any(test, feature = "internals"))]
pub use recording::{Answer, JointTruth, Recording, Truth};
#[cfg(any(test, feature = "internals"))]
pub use simulate::Simulator;
#[cfg(any(test, feature = "internals"))]
pub use testing::simulate;
#[cfg(feature = "internals")]
pub use write::Written;
