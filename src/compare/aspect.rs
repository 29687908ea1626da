//! What is compared, and its equivalence margins.

use crate::check::MetricOf;
use crate::check::motion::{duration, smoothness};
use crate::check::timing::frame_rate;
use crate::check::tracking::{backlash, gain_mismatch, gravity_sag, neutral_offset, tracking_lag};
use crate::num::robust::MAD_TO_SIGMA;

const DEGREE: f64 = std::f64::consts::PI / 180.0;
/// Metres of a linear joint per radian: 2 mm to a degree (engineering judgement), as the checks have it.
pub(super) const METRES_A_RADIAN: f64 = 0.002 / DEGREE;

/// Everything that is compared.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Aspect {
    /// Joints, units, leader, action kind.
    Schema,
    /// Follower minus leader at rest.
    Offset,
    /// The follower's motion over the leader's.
    Gain,
    /// How much later the follower is.
    Lag,
    /// Frames a second.
    Rate,
    /// Backlash of gears and horns.
    Backlash,
    /// Droop with the pose.
    Sag,
    /// Poses of one side that are far from all poses of the other.
    Workspace,
    /// Where episodes begin.
    StartPose,
    /// How long episodes are.
    Length,
    /// How fast the hand moves while it moves.
    Speed,
    /// Mean of a dimension that a policy is trained on.
    Mean,
    /// Standard deviation of a dimension that a policy is trained on.
    Std,
    /// Values of one side beyond the ends of the other.
    Clip,
}

/// What an aspect says something about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Group {
    /// The rig and its logger: blocks a merge.
    Rig,
    /// What was done with it: often wanted.
    Behaviour,
    /// Numbers that training normalises by: follow from the other two.
    Statistics,
}

/// How a change is counted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Scale {
    /// As a difference, B minus A.
    Difference,
    /// As a ratio, B over A; kept as its logarithm.
    Ratio,
    /// As a share, never negative: neither side is below the other.
    Share,
}

/// The equivalence margin of a change and its limit for a failure, in the scale of the aspect.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limits {
    /// The equivalence margin: a larger change matters.
    pub warn: f64,
    /// A larger change blocks a merge.
    pub fail: f64,
}

/// Unit of an aspect's values.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum AspectUnit {
    /// Radians; metres for a linear joint.
    Angle,
    /// Seconds.
    Time,
    /// Hertz.
    Rate,
    /// No dimension.
    Ratio,
    /// Radians a second, over all joints.
    Speed,
    /// Multiples of the standard deviation of A.
    Sigma,
}

impl Aspect {
    /// All, in the order in which a person reads them.
    pub const ALL: [Self; 14] = [
        Self::Schema,
        Self::Offset,
        Self::Gain,
        Self::Lag,
        Self::Rate,
        Self::Backlash,
        Self::Sag,
        Self::Workspace,
        Self::StartPose,
        Self::Length,
        Self::Speed,
        Self::Mean,
        Self::Std,
        Self::Clip,
    ];

    /// Identifier, stable once released.
    pub const fn id(self) -> &'static str {
        match self {
            Self::Schema => "schema",
            Self::Offset => "offset",
            Self::Gain => "gain",
            Self::Lag => "lag",
            Self::Rate => "rate",
            Self::Backlash => "backlash",
            Self::Sag => "sag",
            Self::Workspace => "workspace",
            Self::StartPose => "start-pose",
            Self::Length => "length",
            Self::Speed => "speed",
            Self::Mean => "mean",
            Self::Std => "std",
            Self::Clip => "clip",
        }
    }

    /// In plain words.
    pub const fn title(self) -> &'static str {
        match self {
            Self::StartPose => "start pose",
            Self::Length => "episode length",
            Self::Speed => "moving speed",
            Self::Clip => "clipped",
            other => other.id(),
        }
    }

    /// What it says something about.
    pub const fn group(self) -> Group {
        match self {
            Self::Schema
            | Self::Offset
            | Self::Gain
            | Self::Lag
            | Self::Rate
            | Self::Backlash
            | Self::Sag => Group::Rig,
            Self::Workspace | Self::StartPose | Self::Length | Self::Speed => Group::Behaviour,
            Self::Mean | Self::Std | Self::Clip => Group::Statistics,
        }
    }

    /// How its change is counted.
    pub const fn scale(self) -> Scale {
        match self {
            Self::Rate | Self::Length | Self::Speed | Self::Std => Scale::Ratio,
            Self::Workspace | Self::Clip => Scale::Share,
            _ => Scale::Difference,
        }
    }

    /// Unit of its values on either side.
    pub const fn unit(self) -> AspectUnit {
        match self {
            Self::Offset | Self::Backlash | Self::Sag | Self::StartPose | Self::Std => {
                AspectUnit::Angle
            }
            Self::Lag | Self::Length => AspectUnit::Time,
            Self::Rate => AspectUnit::Rate,
            Self::Speed => AspectUnit::Speed,
            Self::Mean => AspectUnit::Sigma,
            Self::Schema | Self::Gain | Self::Workspace | Self::Clip => AspectUnit::Ratio,
        }
    }

    /// The measurement that it compares, check and metric, where it is one of an episode's.
    pub const fn source(self) -> Option<MetricOf> {
        match self {
            Self::Offset => {
                Some(MetricOf::new(&neutral_offset::CHECK, &neutral_offset::OFFSET_SIGNED))
            }
            Self::Gain => Some(MetricOf::new(&gain_mismatch::CHECK, &gain_mismatch::GAIN)),
            Self::Lag => Some(MetricOf::new(&tracking_lag::CHECK, &tracking_lag::LAG)),
            Self::Rate => Some(MetricOf::new(&frame_rate::CHECK, &frame_rate::MEAN_RATE)),
            Self::Backlash => Some(MetricOf::new(&backlash::CHECK, &backlash::PLAY)),
            Self::Sag => Some(MetricOf::new(&gravity_sag::CHECK, &gravity_sag::SAG)),
            Self::Length => Some(MetricOf::new(&duration::CHECK, &duration::DURATION)),
            Self::Speed => Some(MetricOf::new(&smoothness::CHECK, &smoothness::MOVING_SPEED)),
            _ => None,
        }
    }

    /// Adjusted p-value below which it is called different.
    pub const fn level(self) -> f64 {
        match self {
            Self::StartPose => 0.01,
            _ => 0.05,
        }
    }

    /// Its equivalence margin (engineering judgement), in its scale. `period_s` is the longer frame
    /// period of both sides: a lag below one frame does no harm.
    pub fn limits(self, period_s: f64, linear: bool) -> Limits {
        let angle = if linear { METRES_A_RADIAN } else { 1.0 } * DEGREE;
        let (warn, fail) = match self {
            Self::Schema => (0.0, 0.0),
            Self::Offset => (angle, 3.0 * angle),
            Self::Gain => (0.03, 0.08),
            Self::Lag => (period_s.max(0.020), 3.0 * period_s.max(0.020)),
            Self::Rate => (1.02f64.ln(), 1.10f64.ln()),
            Self::Backlash | Self::Sag => (0.5 * angle, 1.5 * angle),
            Self::Workspace => (0.10, 0.30),
            Self::StartPose => (3.0 * angle, 9.0 * angle),
            Self::Length => (1.25f64.ln(), 1.6f64.ln()),
            // A hand at 1.25 times the speed must be found, and reads 1.23 (see smoothness). A
            // change at the limit is found in every second pair.
            Self::Speed => (1.15f64.ln(), 1.6f64.ln()),
            Self::Mean => (0.25, 1.0),
            Self::Std => (1.25f64.ln(), 2f64.ln()),
            Self::Clip => (0.01, 0.05),
        };
        Limits { warn, fail }
    }
}

/// Minimum standard deviation assumed for a few episodes: a twentieth of the equivalence margin.
/// Three readings that agree by accident must not prove anything.
pub(super) fn min_std(limits: Limits) -> f64 {
    limits.warn / 20.0 * MAD_TO_SIGMA
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::catalogue::find;

    #[test]
    fn each_aspect_reads_a_measurement_that_its_check_declares() {
        let sources: Vec<MetricOf> = Aspect::ALL.iter().filter_map(|a| a.source()).collect();
        assert_eq!(sources.len(), 8);
        for what in sources {
            assert!(what.is_declared(), "{}: {}", what.check.id, what.metric.id);
            assert!(find(what.check.id).is_some_and(|check| check.spec.is(what.check)));
        }
    }
}
