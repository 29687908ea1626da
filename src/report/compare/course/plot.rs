//! The course in one line of text: a sign for each session, higher where the value is.

use crate::compare::{CourseLine, Scale};

/// From the lowest to the highest.
const LEVELS: [char; 4] = ['_', '.', '-', '\''];

/// The change of each session against the first, in the aspect's scale. Where too few episodes gave
/// none, values are subtracted.
pub(super) fn changes(line: &CourseLine) -> Vec<Option<f64>> {
    let scaled = |value: f64| if line.aspect.scale() == Scale::Ratio { value.ln() } else { value };
    let first = line.points.first().and_then(|point| point.value).map(scaled);
    let rest = line.points.iter().skip(1).map(|point| {
        let by_value = || Some(point.value.map(scaled)? - first?);
        point.change.or_else(by_value).filter(|change| change.is_finite())
    });
    let rest: Vec<Option<f64>> = rest.collect();
    let any = rest.iter().any(Option::is_some);
    std::iter::once(any.then_some(0.0)).chain(rest).collect()
}

/// A sign for each session, a space where nothing is known. Changes that lie within the equivalence
/// margin of each other are level.
pub(super) fn plot(line: &CourseLine) -> String {
    let changes = changes(line);
    let known = || changes.iter().flatten().copied();
    let (low, high) = (known().fold(0.0, f64::min), known().fold(0.0, f64::max));
    let level = |change: f64| {
        let range = high - low;
        let place = (change - low) / range * (LEVELS.len() - 1) as f64;
        LEVELS[if range <= line.limits.warn { 0 } else { place.round() as usize }]
    };
    changes.iter().map(|change| change.map_or(' ', level)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::compare::{Aspect, Point};

    fn of(aspect: Aspect, changes: &[Option<f64>]) -> CourseLine {
        let points = changes.iter().map(|change| Point { change: *change, ..Point::default() });
        CourseLine {
            aspect,
            joint: None,
            linear: false,
            limits: aspect.limits(1.0 / 30.0, false),
            points: std::iter::once(Point::default()).chain(points).collect(),
        }
    }

    /// One degree is the margin of an offset.
    #[test]
    fn a_sign_is_as_high_as_the_value_and_noise_is_level() {
        let deg = |degrees: f64| Some(degrees.to_radians());
        let drawn = |changes: &[Option<f64>]| plot(&of(Aspect::Offset, changes));
        assert_eq!(drawn(&[deg(0.1), deg(4.0), deg(3.9)]), "__''");
        assert_eq!(drawn(&[deg(1.0), deg(2.0), deg(3.0)]), "_.-'");
        assert_eq!(drawn(&[deg(-3.0), deg(0.0), deg(-1.0)]), "'_'-");
        assert_eq!(drawn(&[deg(0.4), deg(-0.5), deg(0.2)]), "____");
        assert_eq!(drawn(&[None, deg(3.0), None]), "_ ' ");
        assert_eq!(drawn(&[None, None]).trim(), "");
    }

    #[test]
    fn without_changes_values_are_subtracted_on_the_scale_of_the_aspect() {
        let mut line = of(Aspect::Length, &[None, None]);
        for (point, value) in line.points.iter_mut().zip([10.0, 20.0, 5.0]) {
            point.value = Some(value);
        }
        let twice = 2f64.ln();
        let changes: Vec<f64> = changes(&line).into_iter().flatten().collect();
        let expected = [0.0, twice, -twice];
        assert!(changes.iter().zip(expected).all(|(x, y)| (x - y).abs() < 1e-12), "{changes:?}");
        assert_eq!(plot(&line), "-'_");
    }
}
