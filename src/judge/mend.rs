//! What the data alone can mend, exactly: what a clean copy can do about a finding.

use crate::check::{mapping, motion, signal, timing};
use crate::model::{CheckSpec, JointId, TRIM};

/// A change that mends what a check reports.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Mend {
    /// Leave out still heads and tails.
    TrimIdle,
    /// Cut where the clock jumps.
    Split,
    /// Leave out rows that were written twice.
    DropDoubled,
    /// Exchange leader and follower.
    ExchangeSides,
    /// Exchange two joints of the follower.
    ExchangeJoints(JointId, JointId),
    /// Add whole turns to a joint.
    Unwrap(JointId),
    /// Convert the side of a joint that is in another unit.
    Unit(JointId),
}

/// What mends a check's findings on these joints; `recovery` is how what is recorded is recoverable.
pub(super) fn of(check: &CheckSpec, joints: &[JointId], recovery: &[&'static str]) -> Vec<Mend> {
    let is = |known: &CheckSpec| check.is(known);
    let each = |mend: fn(JointId) -> Mend| joints.iter().copied().map(mend).collect();
    if is(motion::idle_time::CHECK.spec()) && recovery.contains(&TRIM) {
        vec![Mend::TrimIdle]
    } else if is(timing::non_monotonic_time::CHECK.spec()) {
        vec![Mend::Split]
    } else if is(timing::repeated_frames::CHECK.spec()) {
        vec![Mend::DropDoubled]
    } else if is(mapping::arm_swap::CHECK.spec()) {
        vec![Mend::ExchangeSides]
    } else if is(signal::encoder_wrap::CHECK.spec()) {
        each(Mend::Unwrap)
    } else if is(mapping::unit_mismatch::CHECK.spec()) {
        each(Mend::Unit)
    } else {
        Vec::new()
    }
}

/// What mends exchanged joints, if these are all that are: of more nobody knows which goes with which.
pub(super) fn of_swap(check: &CheckSpec, swapped: &[JointId]) -> Option<Mend> {
    match swapped {
        [a, b] if swaps(check) => Some(Mend::ExchangeJoints(*a, *b)),
        _ => None,
    }
}

/// Whether a check reports exchanged joints.
pub(super) fn swaps(check: &CheckSpec) -> bool {
    check.is(mapping::joint_swap::CHECK.spec())
}
