//! An interval as inline SVG, on the scale of the equivalence margin: the limit stands at the same
//! place in every image. Nothing in it comes from a name in the data.

use super::super::words::Shown;
use crate::compare::{Row, Scale};
use crate::report::image::Image;

/// What is drawn reaches so many equivalence margins, on either side of no change.
const REACH: f64 = 4.0;
/// Room for an arrow at either end.
const EDGE: f64 = 8.0;

/// How large it is drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Size {
    /// In a row of a table.
    Row,
    /// By itself, with numbers below.
    Alone,
}

/// The interval, with its estimate, over the zone that does not matter; empty without one. `class`
/// is that of the answer.
pub(super) fn interval(row: &Row, shown: Shown, class: &str, size: Size) -> String {
    let (Some(change), Some((low, high))) = (row.change, row.interval) else {
        return String::new();
    };
    let (warn, fail) = (row.limits.warn, row.limits.fail);
    if warn <= 0.0 || !(change.is_finite() && low.is_finite() && high.is_finite()) {
        return String::new();
    }
    let (width, height, drawn) = match size {
        Size::Row => (160.0, 24.0, 24.0),
        Size::Alone => (300.0, 40.0, 26.0),
    };
    let half = width / 2.0 - EDGE;
    let x = |value: f64| width / 2.0 + (value / warn).clamp(-REACH, REACH) * half / REACH;
    let y = drawn / 2.0;
    let said = format!(
        "{}, interval {} to {}; matters from {}",
        shown.with_unit(change),
        shown.change(low),
        shown.with_unit(high),
        shown.with_unit(warn)
    );
    let mut image = Image::new(Some("interval"), &said, (width, height));
    // A share is never negative: neither side lies below the other.
    let zone_from = if row.aspect.scale() == Scale::Share { 0.0 } else { -warn };
    let (from, to) = (x(zone_from), x(warn));
    image.shape(
        "rect",
        &[
            ("class", &"zone"),
            ("x", &format_args!("{from:.1}")),
            ("y", &0),
            ("width", &format_args!("{:.1}", to - from)),
            ("height", &drawn),
        ],
    );
    let mut upright = |class: &str, value: f64| {
        let x = format!("{:.1}", x(value));
        image.shape(
            "line",
            &[("class", &class), ("x1", &x), ("x2", &x), ("y1", &0), ("y2", &drawn)],
        );
    };
    upright("axis", 0.0);
    for side in [-1.0, 1.0].into_iter().filter(|side| zone_from < 0.0 || *side > 0.0) {
        upright("edge", side * warn);
        if fail < REACH * warn {
            upright("much", side * fail);
        }
    }
    let (left, right) = (x(low), x(high));
    image.shape(
        "line",
        &[
            ("class", &format_args!("whisker {class}")),
            ("x1", &format_args!("{:.1}", left.min(right - 1.0))),
            ("x2", &format_args!("{:.1}", right.max(left + 1.0))),
            ("y1", &y),
            ("y2", &y),
        ],
    );
    for (end, limit, way) in [(low, -REACH, -1.0), (high, REACH, 1.0)] {
        // What lies farther out than the image reaches ends in an arrow.
        let (at, beyond) = (x(end), (end / warn - limit) * way > 0.0);
        let shape = if beyond {
            format!("M{at:.1} {:.1}l{:.1} 5l{:.1} 5z", y - 5.0, 6.0 * way, -6.0 * way)
        } else {
            format!("M{at:.1} {:.1}v8", y - 4.0)
        };
        image.shape("path", &[("class", &format_args!("end {class}")), ("d", &shape)]);
    }
    let (class, at) = (format!("point {class}"), format!("{:.1}", x(change)));
    image.shape("circle", &[("class", &class), ("cx", &at), ("cy", &y), ("r", &4)]);
    if size == Size::Alone {
        labels(row, shown, zone_from, &x, &mut image, height);
    }
    image.end()
}

/// Numbers below no change and the margin; the text next to the image says their unit.
fn labels(
    row: &Row,
    shown: Shown,
    zone_from: f64,
    x: &dyn Fn(f64) -> f64,
    image: &mut Image,
    height: f64,
) {
    let (warn, fail) = (row.limits.warn, row.limits.fail);
    let mut at = vec![(0.0, shown.change(0.0)), (warn, shown.change(warn))];
    if zone_from < 0.0 {
        at.push((-warn, shown.change(-warn)));
    }
    if fail < REACH * warn && fail > 2.0 * warn {
        at.push((fail, shown.change(fail)));
        if zone_from < 0.0 {
            at.push((-fail, shown.change(-fail)));
        }
    }
    for (value, text) in at {
        let (x, y) = (format!("{:.1}", x(value)), format!("{:.1}", height - 4.0));
        image.text(&[("x", &x), ("y", &y), ("text-anchor", &"middle")], &text);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::compare::Aspect;

    /// A row of degrees, of which one matters and three matter much.
    fn row(change: f64, interval: (f64, f64)) -> Row {
        let aspect = Aspect::Offset;
        let deg = f64::to_radians;
        Row {
            change: Some(deg(change)),
            interval: Some((deg(interval.0), deg(interval.1))),
            ..Row::open(aspect, None, aspect.limits(1.0 / 30.0, false))
        }
    }

    fn drawn(row: &Row) -> String {
        interval(row, Shown::new(row, false), "pass", Size::Row)
    }

    #[test]
    fn what_matters_stands_at_the_same_place_whatever_is_drawn() {
        // 160 wide, eight at each edge: four margins are 72 from the middle.
        for svg in [drawn(&row(0.5, (0.25, 0.75))), drawn(&row(-2.0, (-3.0, -1.0)))] {
            assert!(svg.contains("class=\"zone\" x=\"62.0\" y=\"0\" width=\"36.0\""), "{svg}");
            assert_eq!(svg.matches("class=\"edge\"").count(), 2);
            assert!(svg.contains("class=\"much\" x1=\"134.0\""), "{svg}");
        }
        let svg = drawn(&row(0.5, (0.25, 0.75)));
        assert!(svg.contains("x1=\"84.5\" x2=\"93.5\"") && svg.contains("cx=\"89.0\""), "{svg}");
        assert!(
            svg.contains("0.50 deg, interval 0.25 to 0.75 deg; matters from 1.00 deg"),
            "{svg}"
        );
    }

    #[test]
    fn what_lies_beyond_the_image_ends_in_an_arrow_at_its_edge() {
        let svg = drawn(&row(9.0, (3.0, 15.0)));
        assert!(svg.contains("M152.0 7.0l6.0 5l-6.0 5z") && svg.contains("M134.0 8.0v8"), "{svg}");
        let svg = drawn(&row(-9.0, (-15.0, -8.0)));
        assert!(svg.contains("M8.0 7.0l-6.0 5l6.0 5z"), "{svg}");
        // An end that lies on the other side altogether is at the edge, and no arrow to that side.
        assert!(svg.contains("M8.0 8.0v8") && !svg.contains("l6.0 5l-6.0"), "{svg}");
    }

    #[test]
    fn a_share_has_no_negative_side_and_nothing_measured_no_image() {
        let mut share = row(1.0, (0.0, 2.0));
        share.aspect = Aspect::Workspace;
        share.limits = share.aspect.limits(1.0 / 30.0, false);
        share.change = Some(0.05);
        share.interval = Some((0.0, 0.2));
        let svg = drawn(&share);
        assert!(svg.contains("class=\"zone\" x=\"80.0\" y=\"0\" width=\"18.0\""), "{svg}");
        share.interval = None;
        assert_eq!(drawn(&share), "");
        let odd = row(f64::NAN, (0.0, 1.0));
        assert_eq!(drawn(&odd), "");
    }
}
