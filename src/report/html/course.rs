//! How a measurement goes over the session, as inline SVG: a mark for each episode in the order of
//! recording, its shape that of the measurement's own status, and the limits with their values.

use crate::judge::{Course, scaled};
use crate::model::Severity;
use crate::report::image::Image;
use crate::report::number::{Human, nice_step, significant};
use crate::report::text::{clean, columns, cut};

/// Width and height of the image, and where in it the marks lie.
const LONG: f64 = 900.0;
const HIGH: f64 = 150.0;
const LEFT: f64 = 50.0;
const RIGHT: f64 = LONG - 110.0;
const TOP: f64 = 16.0;
const BOTTOM: f64 = HIGH - 20.0;
/// Marks at most.
const MARKS: usize = 1_200;
/// Marks with the name of their episode next to them, at most.
const NAMED: usize = 8;
/// Signs of a name.
const NAME: usize = 14;
/// Width of a sign, and height of a line, in pixels.
const SIGN: f64 = 6.0;
const LINE: f64 = 11.0;

/// What the image needs of the session.
pub(super) struct Session<'a> {
    /// Names of the episodes, in the order of recording.
    pub ids: &'a [&'a str],
    /// What a screen reader says.
    pub said: &'a str,
}

/// An episode's mark.
struct Mark {
    at: usize,
    value: f64,
    severity: Option<Severity>,
    x: f64,
    y: f64,
}

/// From the lowest to the highest value drawn, in a person's unit.
struct Scale {
    low: f64,
    high: f64,
    episodes: usize,
}

impl Scale {
    fn y(&self, value: f64) -> f64 {
        BOTTOM - (value - self.low) / (self.high - self.low) * (BOTTOM - TOP)
    }

    fn x(&self, at: usize) -> f64 {
        let last = self.episodes.saturating_sub(1).max(1);
        LEFT + 8.0 + (RIGHT - LEFT - 16.0) * at as f64 / last as f64
    }
}

/// The image of a measurement.
pub(super) fn course(one: &Course, human: Human, session: &Session<'_>) -> String {
    let factor = human.factor();
    let finite = || one.values.iter().filter(|v| v.is_finite()).map(|&v| f64::from(v) * factor);
    let limits = [(one.limits.warn, "warn"), (one.limits.fail, "fail")];
    let limits: Vec<(f64, &str)> =
        limits.iter().filter_map(|(limit, word)| Some(((*limit)? * factor, *word))).collect();
    let nearest = limits.iter().map(|(limit, _)| *limit).fold(f64::INFINITY, f64::min);
    let low = finite().fold(0.0f64, f64::min).min(nearest);
    let high = finite().fold(0.0, f64::max).max(if nearest.is_finite() { nearest } else { 0.0 });
    let scale =
        Scale { low, high: if high > low { high } else { low + 1.0 }, episodes: one.values.len() };
    let mut image = Image::new(None, session.said, (LONG, HIGH));
    axes(&mut image, &scale, session.ids);
    let mut right: Vec<f64> = Vec::new();
    for (limit, word) in limits {
        // A limit far above everything measured would press it all into one line.
        let text = format!("{word} {}", human.quantity(limit / factor));
        if limit > scale.high {
            image.text(&[("x", &(RIGHT + 6.0)), ("y", &10)], &format!("{text}, above"));
            continue;
        }
        let y = scale.y(limit);
        level(&mut image, "limit", y);
        let text_y = right
            .iter()
            .fold(y + 4.0, |at, other| if (at - other).abs() < LINE { other - LINE } else { at });
        right.push(text_y);
        let at = format!("{text_y:.1}");
        image.text(&[("class", &"value"), ("x", &(RIGHT + 6.0)), ("y", &at)], &text);
    }
    let marks = marks(one, factor, &scale);
    for mark in &marks {
        draw(&mut image, mark, &human.number(mark.value / factor));
    }
    names(&mut image, one, &marks, session.ids, factor);
    image.end()
}

/// Lines at round values, and the names of episodes below.
fn axes(image: &mut Image, scale: &Scale, ids: &[&str]) {
    let step = nice_step((scale.high - scale.low) / 4.0);
    let first = (scale.low / step).ceil();
    for nth in 0..8 {
        let value = (first + f64::from(nth)) * step;
        if value > scale.high {
            break;
        }
        level(image, "axis", scale.y(value));
        let y = format!("{:.1}", scale.y(value) + 3.5);
        let text = if value == 0.0 { "0".to_owned() } else { significant(value) };
        image.text(&[("x", &(LEFT - 6.0)), ("y", &y), ("text-anchor", &"end")], &text);
    }
    let mut free = LEFT;
    let every = nice_step(ids.len() as f64 / 12.0).max(1.0) as usize;
    for at in (0..ids.len()).step_by(every) {
        let (x, name) = (scale.x(at), cut(&clean(ids[at]), NAME));
        let half = columns(&name) as f64 * SIGN / 2.0;
        if x - half < free - half.min(LEFT / 2.0) || x + half > RIGHT + LEFT {
            continue;
        }
        free = x + half + SIGN;
        let (x, y) = (format!("{x:.1}"), HIGH - 5.0);
        image.text(&[("x", &x), ("y", &y), ("text-anchor", &"middle")], &name);
    }
}

/// The marks; of many episodes the minimum and the maximum of each stretch stand for all.
fn marks(one: &Course, factor: f64, scale: &Scale) -> Vec<Mark> {
    let stretch = one.values.len().div_ceil(MARKS / 2).max(1);
    let mut marks = Vec::new();
    for (nth, part) in one.values.chunks(stretch).enumerate() {
        let by = |a: &(usize, &f32), b: &(usize, &f32)| a.1.total_cmp(b.1);
        let finite = || part.iter().enumerate().filter(|(_, v)| v.is_finite());
        let (min, max) = (finite().min_by(by), finite().max_by(by));
        let same = min.map(|l| l.0) == max.map(|g| g.0);
        let mut both: Vec<(usize, &f32)> = min.into_iter().chain(max.filter(|_| !same)).collect();
        both.sort_by_key(|(at, _)| *at);
        marks.extend(both.into_iter().map(|(at, value)| {
            let at = nth * stretch + at;
            let severity = one.severity(*value);
            let value = f64::from(*value) * factor;
            Mark { at, value, severity, x: scale.x(at), y: scale.y(value) }
        }));
    }
    marks
}

/// One mark: a dot, a triangle that warns, a square that fails; its path begins at its middle.
fn draw(image: &mut Image, mark: &Mark, value: &str) {
    let (class, shape) = match mark.severity {
        None => ("dot", "h0"),
        Some(Severity::Warn) => ("warn", "m0-4l4 8h-8z"),
        Some(Severity::Fail) => ("fail", "m-3.5-3.5h7v7h-7z"),
    };
    let path = format!("M{:.1} {:.1}{shape}", mark.x, mark.y);
    image.shape(
        "path",
        &[("class", &class), ("data-at", &mark.at), ("data-value", &value), ("d", &path)],
    );
}

/// Names next to the worst marks, where they find room.
fn names(image: &mut Image, one: &Course, marks: &[Mark], ids: &[&str], factor: f64) {
    let mut flagged: Vec<&Mark> = marks.iter().filter(|mark| mark.severity.is_some()).collect();
    let far = |mark: &Mark| scaled(one.worst.metric.bound, mark.value / factor, one.worst.limit);
    flagged.sort_by(|a, b| b.severity.cmp(&a.severity).then(far(b).total_cmp(&far(a))));
    let mut taken: Vec<(f64, f64, f64)> = Vec::new();
    for mark in flagged {
        let name = cut(&clean(ids.get(mark.at).copied().unwrap_or_default()), NAME);
        let half = columns(&name) as f64 * SIGN / 2.0;
        let (x, y) = (mark.x.clamp(LEFT + half, RIGHT - half), mark.y - 7.0);
        let free = taken
            .iter()
            .all(|(x2, y2, half2)| (x - x2).abs() > half + half2 + 2.0 || (y - y2).abs() >= LINE);
        if !free || taken.len() >= NAMED {
            continue;
        }
        taken.push((x, y, half));
        let (x, y) = (format!("{x:.1}"), format!("{y:.1}"));
        let facts: [(&str, &dyn std::fmt::Display); 4] =
            [("class", &"name"), ("x", &x), ("y", &y), ("text-anchor", &"middle")];
        image.text(&facts, &name);
    }
}

/// A line over the whole width.
fn level(image: &mut Image, class: &str, y: f64) {
    let y = format!("{y:.1}");
    image
        .shape("line", &[("class", &class), ("x1", &LEFT), ("x2", &RIGHT), ("y1", &y), ("y2", &y)]);
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::catalogue::find;
    use crate::judge::Shown;
    use crate::model::Limit;

    /// The lag of a session, in seconds, that warns above 0.15 s and fails above 0.3 s.
    fn lag(values: Vec<f32>) -> Option<(Course, Human)> {
        let check = find("tracking-lag")?.spec();
        let metric = check.metrics[0];
        let worst = Shown { metric, joint: None, value: 0.0, limit: 0.15, severity: None };
        let limits = Limit::new(Some(0.15), Some(0.3));
        let one = Course { check, worst, limits, values, median: 0.0 };
        Some((one, Human::of(metric, false, 0.15)))
    }

    fn drawn(values: Vec<f32>, ids: &[&str]) -> Option<String> {
        let (one, human) = lag(values)?;
        Some(course(&one, human, &Session { ids, said: "x" }))
    }

    #[test]
    fn marks_differ_in_shape_and_bear_the_value_and_the_limits_theirs() {
        let svg = drawn(vec![0.1, 0.2, 0.4, f32::NAN], &["a", "b<", "c", "d"]).unwrap_or_default();
        for (class, value, shape) in
            [("dot", "100", "h0"), ("warn", "200", "m0-4"), ("fail", "400", "m-3.5")]
        {
            let mark = format!("class=\"{class}\" data-at=");
            let at = svg.find(&mark).unwrap_or(0);
            let end = at + svg[at..].find("/>").unwrap_or(0);
            let of = &svg[at..end];
            assert!(of.contains(&format!("data-value=\"{value}\"")) && of.contains(shape), "{of}");
        }
        assert_eq!(svg.matches("data-at").count(), 3, "{svg}");
        assert!(svg.contains(">warn 150 ms<") && svg.contains(">fail 300 ms<"), "{svg}");
        // The names of what is flagged, escaped, next to the marks.
        assert!(svg.contains("class=\"name\"") && svg.contains(">b&lt;<"), "{svg}");
    }

    #[test]
    fn a_limit_far_above_is_named_and_takes_no_room() {
        let svg = drawn(vec![0.1, 0.12], &["a", "b"]).unwrap_or_default();
        assert!(svg.contains(">fail 300 ms, above<"), "{svg}");
        assert_eq!(svg.matches("class=\"limit\"").count(), 1, "{svg}");
    }

    #[test]
    fn many_episodes_make_few_marks_and_the_odd_one_stays() {
        let mut values = vec![0.1f32; 50_000];
        values[31_111] = 0.5;
        let svg = drawn(values, &[]).unwrap_or_default();
        let marks = svg.matches("data-at").count();
        assert!((500..=MARKS + 2).contains(&marks), "{marks}");
        // The largest stands at the top of the image.
        assert!(svg.contains("data-at=\"31111\" data-value=\"500\""), "{svg}");
        assert!(svg.contains(&format!(" {TOP:.1}m-3.5")), "{svg}");
        assert!(drawn(Vec::new(), &[]).is_some_and(|svg| svg.ends_with("</svg>")));
    }
}
