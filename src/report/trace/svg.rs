//! The drawing as an image that needs nothing else.

use std::fmt::Write as _;
use std::io::{self, Write};

use quick_xml::Writer;
use quick_xml::events::BytesText;

use super::axis::Axis;
use super::marks::{Mark, marks};
use super::traced::{Shown, Traced};
use crate::model::Severity;
use crate::report::number::significant;
use crate::report::text::{legal_xml, shorten};
use crate::report::words::finding_message;

const WIDTH: usize = 960;
const LEFT: usize = 72;
const PLOT: usize = WIDTH - LEFT - 16;
const TOP: usize = 64;
const PANEL: usize = 120;
const STEP: usize = PANEL + 36;
const LINE: usize = 18;
/// Characters of a line: more would leave the image.
const LONGEST: usize = 140;

/// Colours by their contrast on white and on near-black; light and dark.
const STYLE: &str = "
.back{fill:#fff}text{font:12px system-ui,sans-serif;fill:#1b1f24}.name{font-weight:600}
.dim{fill:#57606a}.edge{fill:none;stroke:#57606a}
.follower,.leader{fill:none;stroke-width:1.5;stroke-linejoin:round}
.follower{stroke:#0072B2}.leader{stroke:#9a4300;stroke-dasharray:6 4}
.fail{fill:#a33b00}.warn{fill:#7a4b00}rect.fail,rect.warn{fill-opacity:.14}
.hatch{fill:url(#hatch)}#hatch path{stroke:#57606a;stroke-opacity:.5}
@media (prefers-color-scheme:dark){.back{fill:#12161b}text{fill:#e8ebee}.dim{fill:#a3acb5}
.edge,#hatch path{stroke:#a3acb5}.follower{stroke:#56B4E9}.leader{stroke:#E69F00}
.fail{fill:#ff8a4c}.warn{fill:#E69F00}}
";

type Xml<'a> = Writer<&'a mut dyn Write>;

/// Writes an episode as an SVG image.
///
/// # Errors
/// If the output cannot be written.
pub fn trace_svg(traced: &Traced<'_>, out: &mut dyn Write) -> io::Result<()> {
    let axis = Axis::of(traced);
    let marks = marks(traced, &axis);
    let below = TOP + STEP * traced.joints.len() + 12;
    let height = below + LINE * (marks.len() + 1);
    let mut xml: Xml<'_> = Writer::new_with_indent(&mut *out, b' ', 1);
    let svg = xml.create_element("svg").with_attributes([
        ("xmlns", "http://www.w3.org/2000/svg"),
        ("viewBox", format!("0 0 {WIDTH} {height}").as_str()),
        ("width", WIDTH.to_string().as_str()),
        ("height", height.to_string().as_str()),
        ("role", "img"),
        ("aria-labelledby", "title"),
    ]);
    svg.write_inner_content(|xml| {
        let title = xml.create_element("title").with_attribute(("id", "title"));
        title.write_text_content(BytesText::new(&legal_xml(&traced.heading())))?;
        xml.create_element("style").write_text_content(BytesText::from_escaped(STYLE))?;
        hatch(xml)?;
        rect(xml, "back", (0.0, 0.0), (WIDTH as f64, height as f64), None)?;
        text(xml, (16, 24), "name", &traced.heading())?;
        let by_frame =
            if axis.by_frame { "; drawn at even steps, the stamps are unsound" } else { "" };
        text(xml, (16, 44), "dim", &format!("follower solid, leader dashed{by_frame}"))?;
        for (place, joint) in traced.joints.iter().enumerate() {
            let own: Vec<&Mark<'_>> = marks.iter().filter(|mark| mark.concerns(*joint)).collect();
            let shown = traced.shown(*joint);
            panel(traced, &axis, &shown, &own, TOP + STEP * place, xml)?;
        }
        for (row, mark) in marks.iter().enumerate() {
            let message = finding_message(mark.finding, &traced.episode.rig);
            let message = format!("{}: {message}", mark.letter);
            text(xml, (16, below + LINE * row), class(mark), &message)?;
        }
        Ok(())
    })?;
    writeln!(out)
}

fn hatch(xml: &mut Xml<'_>) -> io::Result<()> {
    xml.create_element("defs").write_inner_content(|xml| {
        let pattern = xml.create_element("pattern").with_attributes([
            ("id", "hatch"),
            ("width", "6"),
            ("height", "6"),
            ("patternUnits", "userSpaceOnUse"),
        ]);
        pattern.write_inner_content(|xml| {
            xml.create_element("path").with_attribute(("d", "M0 6L6 0")).write_empty()?;
            Ok(())
        })?;
        Ok(())
    })?;
    Ok(())
}

fn class(mark: &Mark<'_>) -> &'static str {
    match mark.finding.severity {
        Severity::Fail => "fail",
        Severity::Warn => "warn",
    }
}

fn panel(
    traced: &Traced<'_>,
    axis: &Axis,
    shown: &Shown,
    marks: &[&Mark<'_>],
    top: usize,
    xml: &mut Xml<'_>,
) -> io::Result<()> {
    let range = shown.range(&axis.frames);
    text(xml, (LEFT, top + 12), "name", &format!("{}, {}", shown.name, shown.unit))?;
    let top = top + LINE;
    for (row, mark) in marks.iter().enumerate() {
        for (first, last) in &mark.spans_s {
            let (left, right) = (x(axis, *first), x(axis, *last));
            let (at, size) = ((left, top as f64), ((right - left).max(2.0), PANEL as f64));
            let message = finding_message(mark.finding, &traced.episode.rig);
            rect(xml, class(mark), at, size, Some(&message))?;
            rect(xml, "hatch", at, size, None)?;
            let letter = mark.letter.to_string();
            text(xml, (left as usize + 3, top + 14 + 14 * (row % 7)), class(mark), &letter)?;
        }
    }
    rect(xml, "edge", (LEFT as f64, top as f64), (PLOT as f64, PANEL as f64), None)?;
    for (values, class) in [(&shown.leader, "leader"), (&shown.follower, "follower")] {
        let path = path(axis, values, range, top);
        if !path.is_empty() {
            let line = xml.create_element("path");
            line.with_attributes([("class", class), ("d", path.as_str())]).write_empty()?;
        }
    }
    text(xml, (8, top + 12), "dim", &significant(range.1))?;
    text(xml, (8, top + PANEL - 2), "dim", &significant(range.0))?;
    let bottom = top + PANEL + 13;
    text(xml, (LEFT, bottom), "dim", &format!("{:.2} s", axis.ends_s.0))?;
    text(xml, (LEFT + PLOT - 48, bottom), "dim", &format!("{:.2} s", axis.ends_s.1))
}

fn x(axis: &Axis, time_s: f64) -> f64 {
    LEFT as f64 + axis.share(time_s) * PLOT as f64
}

/// Every frame of a short stretch; of a long one the first, minimum, maximum and last of each
/// column of the image, in the order of time.
fn path(axis: &Axis, values: &[f64], (low, high): (f64, f64), top: usize) -> String {
    let mut out = String::new();
    let mut joined = false;
    let mut last: Option<usize> = None;
    for frame in chosen(axis, values) {
        // Between two chosen frames the line breaks if any frame between them is missing.
        if let Some(last) = last {
            joined &= (last..frame).all(|f| axis.goes_on(f) && values[f].is_finite());
        }
        let y = top as f64 + (high - values[frame]) / (high - low) * PLOT_HEIGHT;
        let step = if joined { 'L' } else { 'M' };
        let _ = write!(out, "{step}{:.1} {y:.1}", x(axis, axis.at_s[frame]));
        (joined, last) = (true, Some(frame));
    }
    out
}

const PLOT_HEIGHT: f64 = PANEL as f64;

fn chosen(axis: &Axis, values: &[f64]) -> Vec<usize> {
    let finite = |frame: &usize| values.get(*frame).is_some_and(|v| v.is_finite());
    let frames: Vec<usize> = axis.frames.clone().filter(finite).collect();
    if frames.len() <= 2 * PLOT {
        return frames;
    }
    let mut chosen = Vec::with_capacity(4 * PLOT);
    let column = |frame: &usize| axis.column(axis.at_s[*frame], PLOT);
    for group in frames.chunk_by(|a, b| column(a) == column(b)) {
        let by = |a: &&usize, b: &&usize| values[**a].total_cmp(&values[**b]);
        let ends = [group.first(), group.iter().min_by(by), group.iter().max_by(by), group.last()];
        let mut ends: Vec<usize> = ends.into_iter().flatten().copied().collect();
        ends.sort_unstable();
        ends.dedup();
        chosen.extend(ends);
    }
    chosen
}

fn rect(
    xml: &mut Xml<'_>,
    class: &str,
    at: (f64, f64),
    size: (f64, f64),
    message: Option<&str>,
) -> io::Result<()> {
    let number = |value: f64| format!("{value:.1}");
    let rect = xml.create_element("rect").with_attributes([
        ("class", class),
        ("x", number(at.0).as_str()),
        ("y", number(at.1).as_str()),
        ("width", number(size.0).as_str()),
        ("height", number(size.1).as_str()),
    ]);
    match message {
        None => rect.write_empty()?,
        Some(message) => rect.write_inner_content(|xml| {
            let title = xml.create_element("title");
            title.write_text_content(BytesText::new(&legal_xml(message)))?;
            Ok(())
        })?,
    };
    Ok(())
}

fn text(xml: &mut Xml<'_>, at: (usize, usize), class: &str, message: &str) -> io::Result<()> {
    let element = xml.create_element("text").with_attributes([
        ("class", class),
        ("x", at.0.to_string().as_str()),
        ("y", at.1.to_string().as_str()),
    ]);
    element.write_text_content(BytesText::new(&shorten(&legal_xml(message), LONGEST)))?;
    Ok(())
}
