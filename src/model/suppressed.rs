//! A finding that another one explains: kept small, since a large session may have many.

use super::finding::Finding;
use super::metric::{CheckSpec, Metric};
use super::rig::JointId;
use super::severity::Severity;

/// How a finding is explained.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Why {
    /// It only follows from another finding of the same episode, or of the same session.
    Follows,
    /// All episodes have it: a finding of the session says it once.
    Session,
    /// It is no more than noise above what all episodes have, which is within the limit.
    Usual,
    /// Joints have it alike: one finding of the session says it of all of them.
    Alike,
    /// A person accepts it, with a reason in the profile.
    Accepted,
}

impl Why {
    /// All of them.
    pub const ALL: [Self; 5] =
        [Self::Follows, Self::Session, Self::Usual, Self::Alike, Self::Accepted];

    /// As one word.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Follows => "follows",
            Self::Session => "session",
            Self::Usual => "usual",
            Self::Alike => "alike",
            Self::Accepted => "accepted",
        }
    }
}

/// A finding that another one explains.
#[derive(Debug, Clone, Copy)]
pub struct Suppressed {
    /// The check that found it.
    pub check: &'static CheckSpec,
    /// The measurement concerned.
    pub metric: &'static Metric,
    /// The joint, for a metric per joint.
    pub joint: Option<JointId>,
    /// How bad it would have been.
    pub severity: Severity,
    /// What was read, in the metric's unit.
    pub value: f64,
    /// How it is explained.
    pub why: Why,
    /// The check that explains it.
    pub by: &'static CheckSpec,
    /// The joint of what explains it.
    pub by_joint: Option<JointId>,
}

impl Suppressed {
    /// A finding, explained by a check on a joint.
    pub fn new(finding: &Finding, why: Why, by: (&'static CheckSpec, Option<JointId>)) -> Self {
        let Finding { check, metric, joint, severity, value, .. } = *finding;
        Self { check, metric, joint, severity, value, why, by: by.0, by_joint: by.1 }
    }

    /// Whether it only follows from a finding of the same episode.
    pub fn follows(&self) -> bool {
        self.why == Why::Follows
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A session of a million episodes may have some of them in each.
    #[test]
    fn it_is_small() {
        assert!(size_of::<Suppressed>() <= 56, "{}", size_of::<Suppressed>());
        assert!(2 * size_of::<Suppressed>() <= size_of::<Finding>() + 16);
    }
}
