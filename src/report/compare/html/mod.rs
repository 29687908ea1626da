//! A comparison as one HTML file that opens without a network and has no script: the answer and
//! what it rests on first, then what to do, every aspect with its interval next to the equivalence
//! margin, what merging costs, where both sides come from, cautions.

mod interval;
mod lead;
mod rows;
mod sides;
mod steps;

use std::io::{self, Write};

use minijinja::Value;

use super::Compared;
use super::sentence::sentence;
use super::terminal::{OF_INTERVALS, next, overall};
use crate::compare::{Group, Row};
use crate::report::html::template::class;
use crate::report::html::template::fill;
use crate::report::number::significant;
use crate::report::text::clean;
pub(super) use sides::side;

/// Writes the page.
///
/// # Errors
/// If the output cannot be written.
pub fn comparison_html(view: &Compared<'_>, out: &mut dyn Write) -> io::Result<()> {
    out.write_all(fill(include_str!("page.html"), context(view))?.as_bytes())
}

fn context(view: &Compared<'_>) -> Value {
    let verdict = sentence(view);
    let comparison = view.comparison;
    let groups: Vec<Value> = [
        (
            Group::Rig,
            "On the rig",
            "The rig and its logger: what differs here stands in the way of training on both.",
        ),
        (
            Group::Behaviour,
            "What was done",
            "Often meant to differ; compared within tasks that both sides name.",
        ),
        (
            Group::Statistics,
            "For normalising",
            "What training normalises by: follows from the other two.",
        ),
    ]
    .into_iter()
    .map(|(group, title, about)| rows::group(view, group, title, about))
    .collect();
    let equal: Vec<Value> = comparison
        .schema
        .iter()
        .map(|point| {
            let (class, word) = match point.differs {
                true => ("fail", "x DIFFERS"),
                false if point.a == point.b => ("pass", "= same"),
                false => ("none", "? not known"),
            };
            let (a, b) = (clean(&point.a), clean(&point.b));
            minijinja::context! { what => point.what, a, b, class, word }
        })
        .collect();
    minijinja::context! {
        title => clean(view.command),
        heading => clean(view.command),
        word => verdict.status.word(),
        class => class(verdict.status),
        sentence => clean(&verdict.text),
        sides => vec![sides::side("A", &view.a), sides::side("B", &view.b)],
        lead => lead::lead(view),
        steps_title => steps::title(view),
        steps => steps::steps(view),
        next => Some(next(view)).filter(|next| !next.contains(" --out-html ")).map(|next| clean(&next)),
        cost => cost(view),
        costs => costs(view),
        groups,
        equal,
        notes => overall(view).iter().map(|line| clean(line)).collect::<Vec<_>>(),
        of_intervals => OF_INTERVALS,
        command => clean(view.command),
    }
}

/// What merging both as they are costs, in a sentence; empty where nothing that costs differs.
fn cost(view: &Compared<'_>) -> String {
    let cost = view.comparison.advice.cost.filter(|_| !view.comparison.identical());
    cost.map_or_else(String::new, |cost| {
        let cost = significant(cost);
        format!("Cost of merging them as they are: {cost} sd of the action, at the worst joint.")
    })
}

/// The same joint by joint, the dearest first.
fn costs(view: &Compared<'_>) -> Vec<Value> {
    let differs = |row: &&Row| row.severity().is_some() && row.cost.is_some();
    let mut rows: Vec<&Row> = view.comparison.rows.iter().filter(differs).collect();
    rows.sort_by(|a, b| b.cost.unwrap_or(0.0).total_cmp(&a.cost.unwrap_or(0.0)));
    let one = |row: &&Row| {
        let what = clean(&super::words::place(view, row.aspect, row.joint));
        let cost = row.cost.map_or_else(String::new, significant);
        minijinja::context! { what, cost }
    };
    rows.iter().map(one).collect()
}
