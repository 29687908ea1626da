//! From stored joint values to radians and metres: once, here.

use std::f64::consts::PI;

use crate::model::{AngleUnit, Joint, SignalKind};
use crate::source::rig::notice::Notice;

/// Travel that a normalised joint counts as having where nobody said it: half a turn ...
const TRAVEL_RAD: f64 = PI;
/// ... or for a linear joint as many metres, at the 2 mm to a degree of the checks' limits.
const TRAVEL_M: f64 = 0.36;

/// A joint's value is its stored one times the factor plus the offset.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(in crate::source) struct Scale {
    pub factor: f64,
    pub offset: f64,
}

impl Scale {
    /// The scale of a joint whose table is in this unit. A linear joint is in metres as it stands,
    /// unless the table is normalised.
    pub fn of(joint: &Joint, unit: AngleUnit) -> Self {
        if !SignalKind::JOINTS.contains(&joint.kind()) {
            return Self { factor: 1.0, offset: 0.0 };
        }
        let AngleUnit::Normalized { low, high } = unit else {
            let factor = if joint.linear { 1.0 } else { unit.to_radian() };
            return Self { factor, offset: 0.0 };
        };
        let (low, high) = joint.stored_range.unwrap_or((low, high));
        let (lower, upper) = travel(joint).unwrap_or_else(|| {
            let travel = if joint.linear { TRAVEL_M } else { TRAVEL_RAD };
            (-travel / 2.0, travel / 2.0)
        });
        let factor = (upper - lower) / (high - low);
        Self { factor, offset: lower - low * factor }
    }
}

fn travel(joint: &Joint) -> Option<(f64, f64)> {
    joint.lower.zip(joint.upper)
}

/// What a person must know of a normalised table: which joints' angles are assumed.
pub(in crate::source) fn notice(joints: &[Joint], unit: AngleUnit) -> Option<Notice> {
    let AngleUnit::Normalized { .. } = unit else { return None };
    let unknown = joints.iter().filter(|joint| travel(joint).is_none());
    let joints: Vec<String> = unknown.map(|joint| joint.name.clone()).collect();
    (!joints.is_empty()).then_some(Notice::AssumedTravel { joints })
}

#[cfg(test)]
mod tests {
    use super::*;

    const UNIT: AngleUnit = AngleUnit::Normalized { low: -100.0, high: 100.0 };

    fn at(scale: Scale, stored: f64) -> f64 {
        stored * scale.factor + scale.offset
    }

    #[test]
    fn the_ends_of_the_range_are_the_limits() {
        let waist = Joint { lower: Some(-0.5), upper: Some(1.5), ..Joint::named("waist") };
        let scale = Scale::of(&waist, UNIT);
        assert!((at(scale, -100.0) + 0.5).abs() < 1e-12 && (at(scale, 100.0) - 1.5).abs() < 1e-12);
        let own = Joint { stored_range: Some((0.0, 50.0)), ..waist };
        let scale = Scale::of(&own, UNIT);
        assert!((at(scale, 0.0) + 0.5).abs() < 1e-12 && (at(scale, 25.0) - 0.5).abs() < 1e-12);
    }

    #[test]
    fn without_limits_the_range_is_half_a_turn_and_it_is_said() {
        let waist = Joint::named("waist");
        let scale = Scale::of(&waist, UNIT);
        assert!((at(scale, 100.0) - PI / 2.0).abs() < 1e-12 && at(scale, 0.0).abs() < 1e-12);
        assert!(notice(&[waist], UNIT).is_some_and(|n| n.to_string().ends_with("waist")));
        assert!(notice(&[Joint::named("waist")], AngleUnit::Degree).is_none());
    }
}
