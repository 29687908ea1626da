//! What a person reads first below the answer: the comparison that it rests on most.

use std::cmp::Ordering;

use minijinja::Value;

use super::super::Compared;
use super::super::words::{self, Shown, place};
use super::interval::{Size, interval};
use super::rows;
use crate::compare::{Answer, Aspect, Group, Row, Verdict};
use crate::report::text::clean;

/// The row that the answer rests on, with what it is called; none where it rests on no single one.
pub(super) fn lead(view: &Compared<'_>) -> Option<Value> {
    let (title, row) = leading(view)?;
    let shown = Shown::of(view, row);
    let (class, word) = rows::answer(row.answer);
    let image = interval(row, shown, class, Size::Alone);
    let size = match (row.change, row.interval) {
        (Some(change), Some((low, high))) => format!(
            "{} (95 % interval {} to {}), from {} and {} episodes",
            rows::counted(row, shown, change),
            shown.change(low),
            shown.change(high),
            row.episodes.0,
            row.episodes.1
        ),
        _ => String::new(),
    };
    Some(minijinja::context! {
        title,
        what => clean(&place(view, row.aspect, row.joint)),
        size,
        definition => words::definition(row.aspect),
        matters => rows::matters(view, row),
        notes => row.notes.iter().map(|note| clean(note)).collect::<Vec<_>>(),
        image => Value::from_safe_string(image),
        class,
        word,
    })
}

fn leading<'a>(view: &Compared<'a>) -> Option<(&'static str, &'a Row)> {
    let comparison = view.comparison;
    if comparison.identical() {
        return None;
    }
    let on_rig = || comparison.rows.iter().filter(|row| row.aspect.group() == Group::Rig);
    match comparison.advice.verdict {
        Verdict::Correct | Verdict::KeepApart => {
            let differs = on_rig().filter(|row| row.severity().is_some());
            Some(("Biggest cause", differs.max_by(|a, b| farther(a, b))?))
        }
        Verdict::Merge => {
            let measured = on_rig().filter(|row| row.change.is_some());
            Some(("Largest change on the rig", measured.max_by(|a, b| farther(a, b))?))
        }
        Verdict::CannotTell => {
            let open = on_rig().filter(|row| row.answer == Answer::Inconclusive && row.measured());
            let least_known =
                |a: &&Row, b: &&Row| a.needs.cmp(&b.needs).then_with(|| farther(a, b));
            Some(("What is most uncertain", open.max_by(least_known)?))
        }
    }
}

/// Which of two rows is farther out: by how bad it is, then by its size compared with the
/// equivalence margin. What must be equal and is not comes before everything else.
fn farther(a: &Row, b: &Row) -> Ordering {
    let schema = |row: &Row| row.aspect == Aspect::Schema && row.severity().is_some();
    let size = |row: &Row| match row.change {
        Some(change) if row.limits.warn > 0.0 => change.abs() / row.limits.warn,
        _ => 0.0,
    };
    let rank = |row: &Row| (schema(row), row.severity());
    rank(a).cmp(&rank(b)).then(size(a).total_cmp(&size(b)))
}
