//! What the requested changes repair: such findings no longer decide whether an episode is kept.

use crate::check::{mapping, motion, signal, timing};
use crate::model::{CheckSpec, JointId};

/// Findings that are repaired: the check, and the joint where it is of one.
#[derive(Debug, Default)]
pub(super) struct Repairs(Vec<(&'static CheckSpec, Option<JointId>)>);

impl Repairs {
    /// Whether a finding is repaired.
    pub fn of(&self, check: &CheckSpec, joint: Option<JointId>) -> bool {
        self.0.iter().any(|(known, of)| known.is(check) && (of.is_none() || *of == joint))
    }

    /// Adds what leaving out still heads and tails repairs.
    pub fn trim_idle(&mut self) {
        self.0.push((motion::idle_time::CHECK.spec(), None));
    }

    /// Adds what cutting at jumps of the clock repairs.
    pub fn split(&mut self) {
        self.0.push((timing::non_monotonic_time::CHECK.spec(), None));
    }

    /// Adds what leaving out doubled rows repairs.
    pub fn drop_doubled(&mut self) {
        self.0.push((timing::repeated_frames::CHECK.spec(), None));
    }

    /// Adds what exchanging leader and follower repairs.
    pub fn exchange_sides(&mut self) {
        self.0.push((mapping::arm_swap::CHECK.spec(), None));
    }

    /// Adds what a change of one joint repairs.
    pub fn joint(&mut self, check: &'static CheckSpec, joint: JointId) {
        self.0.push((check, Some(joint)));
    }
}

/// The check that reports exchanged joints.
pub(super) fn joint_swap() -> &'static CheckSpec {
    mapping::joint_swap::CHECK.spec()
}

/// The check that reports exchanged sides.
pub(super) fn arm_swap() -> &'static CheckSpec {
    mapping::arm_swap::CHECK.spec()
}

/// The check that reports a zero within the work range.
pub(super) fn encoder_wrap() -> &'static CheckSpec {
    signal::encoder_wrap::CHECK.spec()
}

/// The check that reports columns of different units.
pub(super) fn unit_mismatch() -> &'static CheckSpec {
    mapping::unit_mismatch::CHECK.spec()
}
