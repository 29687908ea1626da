//! Which side of a joint is not in the unit of the table, and how it becomes so.

use crate::app::keep::mend::Side;
use crate::model::AngleUnit;

/// The range of values; none where nothing moves.
pub(super) fn range(values: &[f32]) -> Option<f32> {
    let finite = || values.iter().copied().filter(|value| value.is_finite());
    let (low, high) = (finite().fold(f32::INFINITY, f32::min), finite().fold(f32::MIN, f32::max));
    (high > low).then_some(high - low)
}

/// Which side is not in the unit of the table, and what it is multiplied by; `ratio` is the range of
/// the state over that of the action.
pub(super) fn conversion(ratio: f64, unit: AngleUnit) -> Option<(Side, f64)> {
    const NEAR: f64 = 0.2;
    let radian = |unit: AngleUnit| unit.to_radian();
    let counts = AngleUnit::Counts { per_turn: 4096.0 };
    let others = [AngleUnit::Radian, AngleUnit::Degree, counts];
    for other in others.into_iter().filter(|other| *other != unit) {
        // What is stored in another unit and read as this one is off by this factor.
        let off = radian(unit) / radian(other);
        let near = |ratio: f64| (ratio / off).ln().abs() < NEAR;
        if near(ratio) {
            return Some((Side::State, 1.0 / off));
        }
        if near(1.0 / ratio) {
            return Some((Side::Action, 1.0 / off));
        }
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_side_that_is_not_in_the_unit_of_the_table_is_converted() {
        let near = |made: Option<(Side, f64)>, side: Side, factor: f64| {
            made.is_some_and(|(s, f)| s == side && (f / factor - 1.0).abs() < 1e-12)
        };
        let degrees = std::f64::consts::PI / 180.0;
        // A table in radians: what is in degrees has larger numbers.
        assert!(near(conversion(57.0, AngleUnit::Radian), Side::State, degrees));
        assert!(near(conversion(1.0 / 58.0, AngleUnit::Radian), Side::Action, degrees));
        // A table in degrees: what is in radians has smaller numbers.
        assert!(near(conversion(1.0 / 57.0, AngleUnit::Degree), Side::State, 1.0 / degrees));
        assert!(near(conversion(57.0, AngleUnit::Degree), Side::Action, 1.0 / degrees));
        assert!(near(conversion(11.4, AngleUnit::Degree), Side::State, 360.0 / 4096.0));
        assert_eq!(conversion(1.1, AngleUnit::Degree), None);
        assert_eq!(conversion(f64::NAN, AngleUnit::Degree), None);
    }
}
