//! The drawing on a terminal.

use std::fmt::Write as _;
use std::io::{self, Write};

use super::axis::Axis;
use super::canvas::Canvas;
use super::marks::{Mark, marks, unplaced};
use super::stroke::stroke;
use super::traced::{Shown, Traced};
use crate::model::Finding;
use crate::report::number::significant;
use crate::report::sentence;
use crate::report::status::Status;
use crate::report::text::{count, wrap};
use crate::report::words::finding_message;

/// Columns left of the drawing: two spaces, the scale, the axis.
const GUTTER: usize = 12;
/// Lines of marks below one joint.
const MOST_MARKS: usize = 6;

/// Draws an episode.
///
/// # Errors
/// If the output cannot be written.
pub fn trace(traced: &Traced<'_>, out: &mut dyn Write) -> io::Result<()> {
    let width = traced.width.clamp(80, 120);
    let axis = Axis::of(traced);
    let marks = marks(traced, &axis);
    put(out, &wrap(&traced.heading(), "  ", 4, width))?;
    let lines = if traced.ascii { ("#####", ".....") } else { ("solid", "dashed") };
    writeln!(out, "  follower: {}, leader: {}", lines.0, lines.1)?;
    if axis.by_frame {
        writeln!(out, "  stamps are missing or run backward: drawn at even steps")?;
    }
    for joint in &traced.joints {
        let shown = traced.shown(*joint);
        writeln!(out)?;
        let lacks = if shown.leader.is_empty() { " (no leader)" } else { "" };
        put(out, &wrap(&format!("{}, {}{lacks}", shown.name, shown.unit), "  ", 4, width))?;
        put(out, &plot(traced, &axis, &shown, width - GUTTER))?;
        let own: Vec<&Mark<'_>> = marks.iter().filter(|mark| mark.concerns(*joint)).collect();
        for mark in own.iter().take(MOST_MARKS) {
            let line = marked(mark, &axis, width - GUTTER);
            writeln!(out, "{:GUTTER$}{line}", "")?;
        }
        if own.len() > MOST_MARKS {
            writeln!(out, "{:GUTTER$}and {} more below", "", own.len() - MOST_MARKS)?;
        }
    }
    writeln!(out, "{}", scale(&axis, width))?;
    listed(traced, &marks, width, out)?;
    put(out, &sentence::episode(traced.card).lines(width))?;
    next(traced, out)
}

fn put(out: &mut dyn Write, lines: &[String]) -> io::Result<()> {
    lines.iter().try_for_each(|line| writeln!(out, "{}", line.trim_end()))
}

fn plot(traced: &Traced<'_>, axis: &Axis, shown: &Shown, width: usize) -> Vec<String> {
    let height = if traced.ascii { 9 } else { 6 };
    let mut canvas = Canvas::new(width, height, traced.ascii);
    let range = shown.range(&axis.frames);
    for (values, dashed) in [(&shown.leader, true), (&shown.follower, false)] {
        canvas.draw(&stroke(axis, values, canvas.columns()), range, dashed);
    }
    let mut lines = Vec::new();
    for (row, line) in canvas.lines().into_iter().enumerate() {
        let label = match row {
            0 => significant(range.1),
            row if row + 1 == height => significant(range.0),
            _ => String::new(),
        };
        lines.push(format!("  {label:>8} |{line}"));
    }
    lines
}

/// A line with the mark's letter below every column that it flags.
fn marked(mark: &Mark<'_>, axis: &Axis, width: usize) -> String {
    let mut line = vec![' '; width];
    for (first, last) in &mark.spans_s {
        let columns = axis.column(*first, width)..=axis.column(*last, width);
        line[columns].fill(mark.letter);
    }
    line.into_iter().collect::<String>().trim_end().to_owned()
}

fn scale(axis: &Axis, width: usize) -> String {
    let (first, last) = axis.ends_s;
    let number = |t: f64| format!("{t:.2}");
    let (middle, end) = (number(f64::midpoint(first, last)), format!("{} s", number(last)));
    let room = width - GUTTER;
    let mut line = format!("{:GUTTER$}{}", "", number(first));
    let at = GUTTER + room / 2;
    let _ = write!(line, "{middle:>w$}", w = at.saturating_sub(line.len()) + middle.len() / 2);
    let _ = write!(line, "{end:>w$}", w = width.saturating_sub(line.len()));
    line
}

fn listed(
    traced: &Traced<'_>,
    marks: &[Mark<'_>],
    width: usize,
    out: &mut dyn Write,
) -> io::Result<()> {
    writeln!(out)?;
    for mark in marks {
        let places = mark.spans_s.iter().zip(&mark.frames).map(|(time, frames)| {
            format!("{:.2}-{:.2} s (frames {}-{})", time.0, time.1, frames.0, frames.1)
        });
        let places = places.collect::<Vec<_>>().join(", ");
        finding(traced, mark.letter, mark.finding, &places, width, out)?;
    }
    let unplaced = unplaced(traced);
    for whole in &unplaced {
        finding(traced, ' ', whole, "the whole episode", width, out)?;
    }
    let elsewhere = traced.card.findings.len() - marks.len() - unplaced.len();
    if elsewhere > 0 {
        let more = count(elsewhere as u64, "finding");
        writeln!(out, "  {more} of joints and times that are not drawn")?;
    }
    let said = "  looked at alone: checks that compare episodes did not run";
    writeln!(out, "{said}\n")
}

fn finding(
    traced: &Traced<'_>,
    letter: char,
    finding: &Finding,
    places: &str,
    width: usize,
    out: &mut dyn Write,
) -> io::Result<()> {
    let status = Status::from(finding.severity);
    let word = status.word();
    let text = finding_message(finding, &traced.episode.rig);
    let first = format!("  {letter}  {word:<6}  ");
    let mut lines = wrap(&text, &first, first.len(), width);
    lines[0] = lines[0].replacen(word, &status.painted(), 1);
    put(out, &lines)?;
    put(out, &wrap(places, &" ".repeat(first.len()), first.len(), width))
}

fn next(traced: &Traced<'_>, out: &mut dyn Write) -> io::Result<()> {
    match traced.card.findings.first() {
        Some(finding) => writeln!(out, "  next: teleassay explain {}", finding.check.id),
        None => writeln!(out, "  next: {} --out-svg trace.svg", traced.command),
    }
}
