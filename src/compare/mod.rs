//! Compares two recording sessions aspect by aspect: same, different, or inconclusive. Says whether
//! both can be trained on together.
//!
//! Layer 3: knows the ledger and the rig of both sides, and no frames. The unit is the episode.
//! Frames of one episode are not independent, and a test over frames nearly always calls two samples
//! of one process different.
//!
//! Of more than two sessions each is compared with the first, and the *course* says since when an
//! aspect differs. The p-values of all pairs are adjusted together.
//!
//! "Different" needs an adjusted p-value below 5 % (Holm, over all comparisons) and a change beyond
//! the equivalence margin. "Same" needs the whole 95 % interval inside the margin, not a large
//! p-value. Everything else is inconclusive, with the number of episodes that would settle it.
//! The *rig* (with its logger) is kept apart from *behaviour* (what was done with it, often wanted),
//! and both from the *statistics* that training normalises by.

mod advice;
mod aspect;
mod comparison;
mod course;
mod decide;
mod poses;
mod row;
mod scalar;
mod schema;
mod side;
mod start_pose;
mod statistics;
mod workspace;

pub use advice::{Correction, Step, Verdict};
pub use aspect::{Aspect, AspectUnit, Group, Scale};
#[cfg(any(test, feature = "internals"))]
pub use comparison::compare;
pub use comparison::{Comparison, Undecided, decide_together};
pub use course::{CourseLine, Point, Since, course};
pub use row::{Answer, Row};
pub use side::Side;
