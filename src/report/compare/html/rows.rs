//! The table of aspects: what is open or differs in sight, what is the same folded below it.

use minijinja::Value;

use super::super::Compared;
use super::super::terminal::reason;
use super::super::words::{self, Shown, place};
use super::interval::{Size, interval};
use crate::compare::{Answer, Group, Row, Scale};
use crate::model::Severity;
use crate::report::number::significant;
use crate::report::text::{clean, count};

/// One group of aspects.
pub(super) fn group(
    view: &Compared<'_>,
    group: Group,
    title: &'static str,
    about: &'static str,
) -> Value {
    let of = |row: &&Row| row.aspect.group() == group;
    let (same, mut open): (Vec<&Row>, Vec<&Row>) =
        view.comparison.rows.iter().filter(of).partition(|row| row.answer == Answer::Same);
    // Worst first; what is undecided behind what is known to differ.
    open.sort_by_key(|row| std::cmp::Reverse(row.severity()));
    let lines_of = |rows: &[&Row]| rows.iter().map(|row| one(view, row)).collect::<Vec<Value>>();
    minijinja::context! {
        title,
        about,
        open => lines_of(&open),
        same_title => format!("{} the same", count(same.len() as u64, "comparison")),
        same => lines_of(&same),
    }
}

fn one(view: &Compared<'_>, row: &Row) -> Value {
    let shown = Shown::of(view, row);
    let (class, word) = answer(row.answer);
    let value = |of: fn((f64, f64)) -> f64| {
        row.values.map_or_else(|| "-".to_owned(), |values| shown.quantity(of(values)))
    };
    let between = |(low, high)| format!("{} to {}", shown.change(low), shown.with_unit(high));
    let open = row.answer == Answer::Inconclusive;
    let note = if open { reason(row) } else { row.notes.join("; ") };
    minijinja::context! {
        what => clean(&place(view, row.aspect, row.joint)),
        note => clean(&note),
        a => value(|values| values.0),
        b => value(|values| values.1),
        change => row.change.map_or_else(|| "-".to_owned(), |change| shown.with_unit(change)),
        interval => row.interval.map_or_else(String::new, between),
        image => Value::from_safe_string(interval(row, shown, class, Size::Row)),
        matters => matters(view, row),
        episodes => format!("{}, {}", row.episodes.0, row.episodes.1),
        adjusted_p => row.p_adjusted.map_or_else(|| "-".to_owned(), adjusted_p),
        class,
        word,
    }
}

/// A p-value, adjusted for all comparisons together.
fn adjusted_p(p: f64) -> String {
    match p {
        p if !p.is_finite() => "-".to_owned(),
        p if p < 0.001 => "< 0.001".to_owned(),
        p => significant(p),
    }
}

/// From which size on a change matters, in its unit: `1.00 deg, much from 3.00 deg`.
pub(super) fn matters(view: &Compared<'_>, row: &Row) -> String {
    let shown = Shown::of(view, row);
    let (warn, fail) = (row.limits.warn, row.limits.fail);
    if warn <= 0.0 {
        return "any".to_owned();
    }
    let both = |limit: f64| match row.aspect.scale() {
        Scale::Ratio => format!("{} or {}", shown.change(-limit), shown.with_unit(limit)),
        Scale::Difference | Scale::Share => shown.with_unit(limit),
    };
    format!("{}, much from {}", both(warn), both(fail))
}

/// The class of an answer, and its words.
pub(super) const fn answer(answer: Answer) -> (&'static str, &'static str) {
    let class = match answer {
        Answer::Same => "pass",
        Answer::Different(Severity::Warn) => "warn",
        Answer::Different(Severity::Fail) => "fail",
        Answer::Inconclusive => "none",
    };
    (class, words::answer(answer))
}
