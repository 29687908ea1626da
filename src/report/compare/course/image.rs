//! The course of an aspect as inline SVG: a point for each session with its 95 % interval, over the
//! equivalence margin about the first. Nothing in it comes from a name in the data.

use super::plot::changes;
use super::words::{since, unit, values};
use crate::compare::{Answer, CourseLine, Scale};
use crate::model::Severity;
use crate::report::image::Image;

/// Height of every image.
const HEIGHT: f64 = 40.0;
/// Width of a session, less where there are many.
const STEP: f64 = 22.0;
/// Width of all sessions at most.
const WIDEST: f64 = 360.0;
/// Room above the highest point and below the lowest.
const EDGE: f64 = 6.0;

/// The class of an answer; the first session has none.
pub(super) const fn class(answer: Option<Answer>) -> &'static str {
    match answer {
        Some(Answer::Same) => "pass",
        Some(Answer::Different(Severity::Warn)) => "warn",
        Some(Answer::Different(Severity::Fail)) => "fail",
        Some(Answer::Inconclusive) | None => "none",
    }
}

/// The image; empty where no session has a change.
pub(super) fn course(line: &CourseLine) -> String {
    let changes = changes(line);
    if changes.iter().all(Option::is_none) {
        return String::new();
    }
    let warn = line.limits.warn;
    // Intervals of a few episodes are wide: what is drawn is as high as changes and margin ask for.
    let known = || changes.iter().flatten().copied();
    let share = line.aspect.scale() == Scale::Share;
    let low = known().fold(if share { 0.0 } else { -1.5 * warn }, f64::min);
    let high = known().fold(1.5 * warn, f64::max);
    let step = STEP.min(WIDEST / changes.len() as f64);
    let width = step * changes.len() as f64;
    let x = |at: usize| format!("{:.1}", step * (at as f64 + 0.5));
    let height = |change: f64| {
        let place = (change.clamp(low, high) - low) / (high - low);
        HEIGHT - EDGE - place * (HEIGHT - 2.0 * EDGE)
    };
    let y = |change: f64| format!("{:.1}", height(change));
    let mut image =
        Image::new(Some("interval"), &spoken(line), ((width * 10.0).round() / 10.0, HEIGHT));
    let (top, bottom) = (height(warn), height(if share { 0.0 } else { -warn }));
    image.shape(
        "rect",
        &[
            ("class", &"zone"),
            ("x", &0),
            ("y", &format_args!("{top:.1}")),
            ("width", &format_args!("{width:.1}")),
            ("height", &format_args!("{:.1}", bottom - top)),
        ],
    );
    let (zero, end) = (y(0.0), format!("{width:.1}"));
    image.shape(
        "line",
        &[("class", &"axis"), ("x1", &0), ("x2", &end), ("y1", &zero), ("y2", &zero)],
    );
    for (at, (change, point)) in changes.iter().zip(&line.points).enumerate() {
        let (Some(change), class, x) = (change, class(point.answer), x(at)) else { continue };
        if let Some((from, to)) = point.interval.filter(|(a, b)| a.is_finite() && b.is_finite()) {
            image.shape(
                "line",
                &[
                    ("class", &format_args!("whisker {class}")),
                    ("x1", &x),
                    ("x2", &x),
                    ("y1", &y(from)),
                    ("y2", &y(to)),
                ],
            );
        }
        let (class, y) = (format!("point {class}"), y(*change));
        image.shape("circle", &[("class", &class), ("cx", &x), ("cy", &y), ("r", &3.5)]);
    }
    image.end()
}

/// What a screen reader says: the values, and since when they differ.
fn spoken(line: &CourseLine) -> String {
    let numbers = super::words::numbers(line.points.len());
    let differs = match since(&line.since(), &numbers).as_str() {
        "" => "no session differs".to_owned(),
        differs => format!("differs {differs}"),
    };
    format!("by session: {} {}; {differs}", values(line).join(", "), unit(line))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::compare::{Aspect, Point};

    fn line(aspect: Aspect, changes: &[f64]) -> CourseLine {
        let point = |change: &f64| Point {
            value: Some(*change),
            change: Some(*change),
            interval: Some((*change - 1e3, *change + 1e3)),
            answer: Some(Answer::Different(Severity::Fail)),
            ..Point::default()
        };
        let first = Point { value: Some(0.0), ..Point::default() };
        CourseLine {
            aspect,
            joint: None,
            linear: false,
            limits: aspect.limits(1.0 / 30.0, false),
            points: std::iter::once(first).chain(changes.iter().map(point)).collect(),
        }
    }

    /// 1 degree is the margin: from -1.5 to 8.5 degrees lie 28 pixels.
    #[test]
    fn points_lie_where_their_change_is_and_whiskers_end_at_the_edge() {
        let svg = course(&line(Aspect::Offset, &[0.0, 8.5f64.to_radians()]));
        assert!(svg.contains("width=\"66\" height=\"40\""), "{svg}");
        assert!(
            svg.contains("class=\"zone\" x=\"0\" y=\"27.0\" width=\"66.0\" height=\"5.6\""),
            "{svg}"
        );
        assert!(svg.contains("class=\"point none\" cx=\"11.0\" cy=\"29.8\""), "{svg}");
        assert!(svg.contains("class=\"point fail\" cx=\"55.0\" cy=\"6.0\""), "{svg}");
        assert!(svg.contains("x1=\"55.0\" x2=\"55.0\" y1=\"34.0\" y2=\"6.0\""), "{svg}");
        assert!(svg.contains("by session: 0.00, 0.00, 8.50 deg; differs since 2"), "{svg}");
    }

    #[test]
    fn a_share_begins_at_zero_and_nothing_measured_has_no_image() {
        let svg = course(&line(Aspect::Workspace, &[0.2, 0.4]));
        assert!(svg.contains("y1=\"34.0\" y2=\"34.0\""), "{svg}");
        let mut none = line(Aspect::Offset, &[1.0]);
        none.points = vec![Point::default(); 3];
        assert_eq!(course(&none), "");
    }
}
