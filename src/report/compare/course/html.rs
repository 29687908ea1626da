//! A course as one HTML file that opens without a network and has no script.

use std::io::{self, Write};

use minijinja::Value;

use super::super::html::side;
use super::super::terminal::OF_INTERVALS;
use super::super::words::answer;
use super::image::{class, course};
use super::pairs::{notes, said};
use super::verdict::verdict;
use super::view::Courses;
use super::words::{MARKS, OF_PAIRS, about, mark, state, title, unit, values};
use crate::compare::CourseLine;
use crate::report::html::template::{fill, markup};
use crate::report::text::{clean, count};

/// Writes the page.
///
/// # Errors
/// If the output cannot be written.
pub fn course_html(view: &Courses<'_>, out: &mut dyn Write) -> io::Result<()> {
    out.write_all(fill(include_str!("course.html"), context(view))?.as_bytes())
}

fn context(view: &Courses<'_>) -> Value {
    let verdict = verdict(view);
    let names = view.names();
    let (differ, rest): (Vec<&CourseLine>, Vec<&CourseLine>) =
        view.lines.iter().partition(|line| line.worst().is_some());
    let rows =
        |lines: &[&CourseLine]| lines.iter().map(|line| one(line, &names)).collect::<Vec<_>>();
    let sides = view.sides().zip(super::words::numbers(view.sessions()));
    let heads = names.iter().zip(1..).map(|(name, number)| format!("{number}: {name}"));
    let pairs = said(view).into_iter().map(|pair| {
        let name = names.get(pair.number - 1).map_or("", String::as_str);
        let steps: Vec<String> = pair.steps.iter().map(|step| clean(step)).collect();
        minijinja::context! {
            number => pair.number,
            name,
            answer => clean(&pair.answer),
            steps,
            command => clean(&pair.command),
        }
    });
    minijinja::context! {
        title => clean(view.command),
        heading => clean(view.command),
        word => answer(verdict.answer),
        class => class(Some(verdict.answer)),
        sentence => clean(&verdict.text),
        sides => sides.map(|(of, number)| side(&number, of)).collect::<Vec<_>>(),
        heads => heads.collect::<Vec<_>>(),
        differ => rows(&differ),
        rest_title => format!("{} of which no session differs", count(rest.len(), "comparison")),
        rest => rows(&rest),
        pairs => pairs.collect::<Vec<_>>(),
        notes => notes(view).iter().map(|line| clean(line)).collect::<Vec<_>>(),
        marks => MARKS,
        of_pairs => OF_PAIRS,
        of_intervals => OF_INTERVALS,
        command => clean(view.command),
    }
}

fn one(line: &CourseLine, names: &[String]) -> Value {
    let cells =
        values(line).into_iter().zip(&line.points).enumerate().map(|(at, (value, point))| {
            let mark = if at == 0 { String::new() } else { mark(point.answer).to_string() };
            minijinja::context! { value, mark, class => class(point.answer) }
        });
    minijinja::context! {
        what => clean(&title(line)),
        about => about(line),
        state => clean(&state(line, names)),
        unit => unit(line),
        image => markup(&course(line)),
        cells => cells.collect::<Vec<_>>(),
    }
}
