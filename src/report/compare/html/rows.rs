//! The table of aspects: what is open or differs in sight, what is the same folded below it.

use minijinja::Value;

use super::super::Compared;
use super::super::terminal::reason;
use super::super::words::{self, Shown, place};
use super::interval::{Size, interval};
use crate::compare::{Answer, Aspect, Group, Row, Scale};
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
    minijinja::context! {
        title,
        about,
        open => table(view, &open),
        same_title => format!("{} the same", count(same.len() as u64, "comparison")),
        same => table(view, &same),
    }
}

/// The rows of a table by aspect, aspects in the order of their first row, with what each aspect
/// measures and from which size on it matters; below, each note once with the rows that it is of.
/// None without rows.
fn table(view: &Compared<'_>, rows: &[&Row]) -> Option<Value> {
    let mut aspects: Vec<(Aspect, Vec<&Row>)> = Vec::new();
    for row in rows {
        match aspects.iter_mut().find(|(aspect, _)| *aspect == row.aspect) {
            Some((_, of)) => of.push(row),
            None => aspects.push((row.aspect, vec![row])),
        }
    }
    let one_aspect = |(aspect, rows): &(Aspect, Vec<&Row>)| {
        let mut from: Vec<String> = rows.iter().map(|row| matters(view, row)).collect();
        from.dedup();
        minijinja::context! {
            title => aspect.title(),
            definition => words::definition(*aspect),
            matters => from.join("; "),
            rows => rows.iter().map(|row| one(view, row)).collect::<Vec<Value>>(),
        }
    };
    let notes: Vec<String> = notes(view, rows);
    let aspects: Vec<Value> = aspects.iter().map(one_aspect).collect();
    (!rows.is_empty()).then(|| minijinja::context! { aspects, notes })
}

/// Each note once, with the places of its rows.
fn notes(view: &Compared<'_>, rows: &[&Row]) -> Vec<String> {
    let mut notes: Vec<(String, Vec<String>)> = Vec::new();
    for row in rows {
        let place = place(view, row.aspect, row.joint);
        for note in of_row(row) {
            match notes.iter_mut().find(|(known, _)| *known == note) {
                Some((_, places)) => places.push(place.clone()),
                None => notes.push((note, vec![place.clone()])),
            }
        }
    }
    let line =
        |(note, places): &(String, Vec<String>)| clean(&format!("{}: {note}", places.join(", ")));
    notes.iter().map(line).collect()
}

/// What a reader should know of a row, or why it is open; how many episodes it needs has a column.
fn of_row(row: &Row) -> Vec<String> {
    let open = row.answer == Answer::Inconclusive;
    if open && row.notes.is_empty() && row.needs.is_none() {
        return vec![reason(row)];
    }
    row.notes.clone()
}

fn one(view: &Compared<'_>, row: &Row) -> Value {
    let shown = Shown::of(view, row);
    let (class, word) = answer(row.answer);
    let value = |of: fn((f64, f64)) -> f64| {
        row.values.map_or_else(|| "-".to_owned(), |values| shown.quantity(of(values)))
    };
    let open = row.answer == Answer::Inconclusive;
    let needs = row.needs.filter(|_| open && row.change.is_some());
    let (m, n) = row.episodes;
    minijinja::context! {
        what => clean(&place(view, row.aspect, row.joint)),
        a => value(|values| values.0),
        b => value(|values| values.1),
        change => row.change.map_or_else(|| "-".to_owned(), |change| counted(row, shown, change)),
        interval => row.interval.map_or_else(String::new, |ends| between(shown, ends)),
        image => Value::from_safe_string(interval(row, shown, class, Size::Row)),
        episodes => needs.map_or_else(|| format!("{m}, {n}"), |needs| format!("{m}, {n}; needs {needs}")),
        adjusted_p => row.p_adjusted.map_or_else(|| "-".to_owned(), adjusted_p),
        class,
        word,
    }
}

/// A change with its definition: `B - A = 4.01 deg`, `B / A = 0.988 x`, `share 17.6 %`.
pub(super) fn counted(row: &Row, shown: Shown, change: f64) -> String {
    let scale = row.aspect.scale();
    let sign = if scale == Scale::Share { "" } else { " =" };
    format!("{}{sign} {}", words::counted(scale), shown.with_unit(change))
}

/// `(4.00 to 4.03)`
fn between(shown: Shown, (low, high): (f64, f64)) -> String {
    format!("({} to {})", shown.change(low), shown.change(high))
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
