//! The table of the course on a terminal: aspect by aspect, in columns for a few sessions and in
//! blocks for many.

use super::plot::plot;
use super::view::Courses;
use super::words::{mark, numbers, state, title, unit, values};
use crate::compare::{Answer, Aspect, CourseLine};
use crate::report::text::{count, row, wrap};

/// Differences shown before the list is cut.
const MOST: usize = 12;
/// Columns of a value.
const VALUE: usize = 7;
/// Columns that a name needs.
const NAME: usize = 22;
/// Values in a line, where sessions have no column each.
const BLOCK: usize = 8;
/// Sessions in a line of the plot.
const SIGNS: usize = 50;

/// An aspect of a joint or as a whole; or several joints of which none differs.
struct Entry {
    name: String,
    state: String,
    /// Empty for several joints.
    values: Vec<String>,
    unit: &'static str,
    plot: String,
    /// One for each session, a space for the first.
    marks: Vec<char>,
    differs: bool,
}

impl Entry {
    fn of(line: &CourseLine, numbers: &[String]) -> Self {
        Self {
            name: title(line),
            state: state(line, numbers),
            values: values(line),
            unit: unit(line),
            plot: plot(line),
            marks: marks(&[line]),
            differs: line.worst().is_some(),
        }
    }

    /// Of lines of one aspect.
    fn together(aspect: Aspect, lines: &[&CourseLine], numbers: &[String]) -> Option<Self> {
        let first = lines.first()?;
        let measured = first.points.iter().any(|point| point.value.is_some());
        if lines.len() == 1 && measured {
            return Some(Self::of(first, numbers));
        }
        let joints = if first.joint.is_some() {
            format!(", {}", count(lines.len(), "joint"))
        } else {
            String::new()
        };
        Some(Self {
            name: format!("{}{joints}", aspect.title()),
            state: String::new(),
            values: Vec::new(),
            unit: "",
            plot: String::new(),
            marks: marks(lines),
            differs: false,
        })
    }
}

/// A sign for each session: the same only where all of these lines are.
fn marks(lines: &[&CourseLine]) -> Vec<char> {
    let sessions = lines.iter().map(|line| line.points.len()).max().unwrap_or(0);
    let of = |at: usize| {
        let answers = lines.iter().map(|line| line.points[at].answer);
        // Of what is the same and what is not, the latter shows.
        let rank = |answer: &Option<Answer>| match answer {
            Some(Answer::Same) => 0,
            None => 1,
            Some(Answer::Inconclusive) => 2,
            Some(Answer::Different(_)) => 3,
        };
        answers.max_by_key(rank).map_or('-', mark)
    };
    std::iter::once(' ').chain((1..sessions).map(of)).collect()
}

/// What is shown line by line, and how many differences are left out.
fn entries(view: &Courses<'_>) -> (Vec<Entry>, usize) {
    let numbers = numbers(view.sessions());
    let differ = || view.lines.iter().filter(|line| line.worst().is_some());
    let mut entries: Vec<Entry> =
        differ().take(MOST).map(|line| Entry::of(line, &numbers)).collect();
    for aspect in Aspect::ALL {
        let rest = |line: &&CourseLine| line.aspect == aspect && line.worst().is_none();
        let rest: Vec<&CourseLine> = view.lines.iter().filter(rest).collect();
        entries.extend(Entry::together(aspect, &rest, &numbers));
    }
    (entries, differ().count().saturating_sub(MOST))
}

/// The lines of the table, at most `width` columns wide.
pub(super) fn table(view: &Courses<'_>, width: usize) -> Vec<String> {
    let sessions = view.sessions();
    let (entries, more) = entries(view);
    // Two spaces in front, one behind the name, a unit of five between two more.
    let taken = 2 + 1 + sessions * VALUE + 7 + sessions.max(4);
    let mut lines = match width.checked_sub(taken).filter(|room| *room >= NAME) {
        Some(room) => columns(&entries, sessions, room),
        None => blocks(&entries, width),
    };
    if more > 0 {
        lines.push(format!("  and {more} more: {} --format json", view.command));
    }
    lines
}

/// Texts in columns of their width.
fn cells(texts: &[String]) -> String {
    texts.iter().fold(String::new(), |all, text| format!("{all}{text:>VALUE$}"))
}

/// A line under a name, its own name indented.
fn under(name: &str, room: usize, rest: &str) -> Vec<String> {
    row(&[("", 1), (name, room - 2)], rest)
}

/// A column for each session, the name in so many columns.
fn columns(entries: &[Entry], sessions: usize, room: usize) -> Vec<String> {
    let head = format!("{} {:<5} plot", cells(&numbers(sessions)), "unit");
    let mut lines = row(&[("the course", room)], &head);
    for entry in entries {
        let marks: Vec<String> = entry.marks.iter().map(char::to_string).collect();
        if entry.values.is_empty() {
            lines.extend(row(&[(&entry.name, room)], &cells(&marks)));
            continue;
        }
        let numbers = format!("{} {:<5} {}", cells(&entry.values), entry.unit, entry.plot);
        lines.extend(row(&[(&entry.name, room)], &numbers));
        lines.extend(under(&entry.state, room, &cells(&marks)));
    }
    lines
}

/// What differs with its values in lines of eight, the numbers of their sessions in front, then the
/// plot and the answers, a sign for each session; of all else the answers.
fn blocks(entries: &[Entry], width: usize) -> Vec<String> {
    let mut lines = vec!["  the course".to_owned()];
    let parts = |signs: &[char]| -> Vec<String> {
        signs.chunks(SIGNS).map(|part| part.iter().collect()).collect()
    };
    for entry in entries {
        if !entry.differs {
            let mut name = entry.name.as_str();
            for part in parts(&entry.marks) {
                lines.extend(row(&[(name, NAME)], &part));
                name = "";
            }
            continue;
        }
        let unit = if entry.unit.is_empty() { String::new() } else { format!(", {}", entry.unit) };
        let head = format!("{}{unit}: {}", entry.name, entry.state);
        lines.extend(wrap(&head, "  ", 4, width));
        for (at, values) in entry.values.chunks(BLOCK).enumerate() {
            let (from, to) = (at * BLOCK + 1, at * BLOCK + values.len());
            let numbers = if from == to { to.to_string() } else { format!("{from} to {to}") };
            lines.extend(under(&numbers, NAME - VALUE + 1, &cells(values)));
        }
        let plot: Vec<char> = entry.plot.chars().collect();
        for (plot, marks) in parts(&plot).iter().zip(parts(&entry.marks)) {
            lines.extend(under("plot", NAME, plot));
            lines.extend(under("answers", NAME, &marks));
        }
    }
    lines
}
