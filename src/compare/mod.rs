//! Two recording sessions held against each other: same, different, or not enough data, aspect by
//! aspect; and whether both can be trained on together.
//!
//! Floor 3: knows the ledger and the rig of both sides, and no frames. The unit is the episode:
//! frames of one episode are no independent evidence, and a test over frames calls two samples of
//! one process different nearly always.
//!
//! "Different" needs both a chance below 5 % over all comparisons together (Holm) and a size that
//! matters; "same" needs the whole 95 % interval inside what matters (equivalence), not a great
//! chance. What is neither is not enough data, with the number of episodes that would settle it.
//! What concerns the *bench* (the rig and its logger) is kept apart from *behaviour* (what was done
//! with it, often wanted), and both from the *statistics* that training normalises by.

mod advice;
mod aspect;
mod comparison;
mod decide;
mod poses;
mod row;
mod scalar;
mod schema;
mod side;
mod start_pose;
mod statistics;
mod workspace;

pub use advice::{Advice, Step, Verdict, Way};
pub use aspect::{Aspect, AspectUnit, Group, Limits, Scale};
pub use comparison::{Comparison, compare};
pub use row::{Answer, Row};
pub use schema::SchemaPoint;
pub use side::{Pair, Side, Tasks};
