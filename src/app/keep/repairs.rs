//! What the requested changes repair: such findings no longer decide whether an episode is kept.

use crate::check::{mapping, motion, signal, timing};
use crate::model::{CheckSpec, Family, JointId};

/// Findings that are repaired.
#[derive(Debug, Default)]
pub(super) struct Repairs {
    /// The check, and the joint where it is of one.
    mended: Vec<(&'static CheckSpec, Option<JointId>)>,
    /// Joints whose values are others then; none stands for all. What was found in the values as
    /// they were says nothing of them: the audit of the copy does.
    changed: Vec<Option<JointId>>,
}

impl Repairs {
    /// Whether a finding is repaired.
    pub fn of(&self, check: &CheckSpec, joint: Option<JointId>) -> bool {
        let mended = |known: &CheckSpec, of: Option<JointId>| {
            known.is(check) && (of.is_none() || of == joint)
        };
        let changed = |of: Option<JointId>| of.is_none() || of == joint;
        self.mended.iter().any(|(known, of)| mended(known, *of))
            || (reads_values(check) && self.changed.iter().any(|of| changed(*of)))
    }

    /// Adds what leaving out still heads and tails repairs.
    pub fn trim_idle(&mut self) {
        self.mended.push((motion::idle_time::CHECK.spec(), None));
    }

    /// Adds what cutting at jumps of the clock repairs.
    pub fn split(&mut self) {
        self.mended.push((timing::non_monotonic_time::CHECK.spec(), None));
    }

    /// Adds what leaving out doubled rows repairs.
    pub fn drop_doubled(&mut self) {
        self.mended.push((timing::repeated_frames::CHECK.spec(), None));
    }

    /// Adds what exchanging leader and follower repairs.
    pub fn exchange_sides(&mut self) {
        self.mended.push((mapping::arm_swap::CHECK.spec(), None));
        self.changed.push(None);
    }

    /// Adds what a change of one joint repairs.
    pub fn joint(&mut self, check: &'static CheckSpec, joint: JointId) {
        self.mended.push((check, Some(joint)));
        self.changed.push(Some(joint));
    }
}

/// Whether a check looks at where a joint is: not at whether it moves, or was read at all.
fn reads_values(check: &CheckSpec) -> bool {
    let families = [Family::Limits, Family::Mapping, Family::Tracking];
    families.contains(&check.family) || check.is(signal::spikes::CHECK.spec())
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::{limits, tracking};

    #[test]
    fn what_was_found_in_changed_values_no_longer_counts() {
        let mut repairs = Repairs::default();
        repairs.joint(encoder_wrap(), 2);
        let overreach = limits::leader_overreach::CHECK.spec();
        assert!(repairs.of(encoder_wrap(), Some(2)) && repairs.of(overreach, Some(2)));
        assert!(!repairs.of(encoder_wrap(), Some(1)) && !repairs.of(overreach, Some(1)));
        // A joint that never moved, or was not read, is the same afterwards.
        assert!(!repairs.of(signal::dead_joint::CHECK.spec(), Some(2)));
        assert!(!repairs.of(signal::missing_values::CHECK.spec(), Some(2)));
        repairs.exchange_sides();
        assert!(repairs.of(tracking::tracking_lag::CHECK.spec(), Some(1)));
        assert!(!repairs.of(timing::dropped_frames::CHECK.spec(), None));
    }
}
