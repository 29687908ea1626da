//! Words and marks of a course.

use super::super::words::Shown;
use crate::compare::{Answer, CourseLine, Group, Row, Since};
use crate::model::Severity;

/// Sessions that are named in a row.
const MOST: usize = 4;

/// What a reader of many comparisons must know.
pub(super) const OF_PAIRS: &str = "\
Each session is compared with the first. P-values are adjusted for the comparisons of all sessions \
together (Holm), so two sessions compared alone may show more.";

/// An answer in one sign; `-` where there is nothing to compare.
pub(super) const fn mark(answer: Option<Answer>) -> char {
    match answer {
        Some(Answer::Same) => '=',
        Some(Answer::Different(Severity::Warn)) => '!',
        Some(Answer::Different(Severity::Fail)) => 'x',
        Some(Answer::Inconclusive) => '?',
        None => '-',
    }
}

/// What the signs mean.
pub(super) const MARKS: &str =
    "= same, ! differs, x differs much, ? inconclusive, - nothing to compare";

/// `offset elbow`
pub(super) fn title(line: &CourseLine) -> String {
    match &line.joint {
        Some(joint) => format!("{} {joint}", line.aspect.title()),
        None => line.aspect.title().to_owned(),
    }
}

/// How its numbers are shown.
pub(super) fn shown(line: &CourseLine) -> Shown {
    Shown::new(&Row::open(line.aspect, None, line.limits), line.linear)
}

/// The value of each session; `-` without one.
pub(super) fn values(line: &CourseLine) -> Vec<String> {
    let shown = shown(line);
    let value = |value: Option<f64>| value.map_or_else(|| "-".to_owned(), |v| shown.value(v));
    line.points.iter().map(|point| value(point.value)).collect()
}

/// Unit of its values; empty where it has none.
pub(super) fn unit(line: &CourseLine) -> &'static str {
    let any = line.points.iter().any(|point| point.value.is_some());
    if any { shown(line).unit } else { "" }
}

/// What kind of aspect it is.
pub(super) const fn about(line: &CourseLine) -> &'static str {
    match line.aspect.group() {
        Group::Rig => "rig",
        Group::Behaviour => "what was done",
        Group::Statistics => "statistics",
    }
}

/// `since wednesday`, `only in tuesday`, `in tuesday, thursday`; empty where nothing differs.
pub(super) fn since(since: &Since, names: &[String]) -> String {
    let name = |at: &usize| names.get(*at).map_or("?", String::as_str);
    let named: Vec<&str> = since.apart.iter().take(MOST).map(name).collect();
    let apart = match since.apart.len().saturating_sub(MOST) {
        0 => named.join(", "),
        more => format!("{} and {more} more", named.join(", ")),
    };
    match (&since.from, since.apart.len()) {
        (None, 0) => String::new(),
        (None, 1) => format!("only in {apart}"),
        (None, _) => format!("in {apart}"),
        (Some(from), 0) => format!("since {}", name(from)),
        (Some(from), _) => format!("in {apart}, and since {}", name(from)),
    }
}

/// The same for a line of a table: where nothing differs, what is known.
pub(super) fn state(line: &CourseLine, names: &[String]) -> String {
    let (differs, open) = (since(&line.since(), names), line.open());
    if !differs.is_empty() {
        return format!("differs {differs}");
    }
    match open.len() {
        0 => "same in all".to_owned(),
        n if n + 1 == line.points.len() => "inconclusive in all".to_owned(),
        _ => {
            let open: Vec<&str> =
                open.iter().filter_map(|at| names.get(*at)).map(String::as_str).collect();
            format!("inconclusive in {}", open.join(", "))
        }
    }
}

/// Sessions by their number, as the table heads them.
pub(super) fn numbers(sessions: usize) -> Vec<String> {
    (1..=sessions).map(|number| number.to_string()).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn since_when_in_words() {
        let names = ["a", "b", "c", "d", "e"].map(str::to_owned);
        for (from, apart, text) in [
            (None, &[][..], ""),
            (Some(2), &[], "since c"),
            (None, &[1], "only in b"),
            (None, &[1, 3], "in b, d"),
            (Some(4), &[1, 2], "in b, c, and since e"),
            (None, &[0, 1, 2, 3, 4], "in a, b, c, d and 1 more"),
        ] {
            assert_eq!(since(&Since { from, apart: apart.to_vec() }, &names), text);
        }
    }
}
