//! `JUnit` XML: one test case per episode, for the test pages of build servers.
//!
//! There is no standard, so this keeps to what all accept: `tests`, `failures` and `errors` on
//! every suite, times in seconds with three decimals, nothing on a test case but `name`,
//! `classname` and `time`. What ends a run is a failure, what does not is written to the case's
//! output; what could not be read is an error.

use std::borrow::Cow;
use std::io::{self, Write};

use quick_xml::Writer;
use quick_xml::events::{BytesDecl, BytesText, Event};

use super::cautions;
use super::text::{legal_xml, shorten};
use super::view::View;
use super::words::{finding_message, session_message, with_remedy};
use crate::model::{Scorecard, SessionFinding, Severity, Unread};

/// Findings of one episode that are spelt out.
const MOST: usize = 20;
/// Characters of one message: a name from the data may be of any length.
const LONGEST: usize = 1000;

type Xml<'a> = Writer<&'a mut dyn Write>;

/// Writes the report. `from` is the severity from which on a finding is a failure; without one
/// none is.
///
/// # Errors
/// If the output cannot be written.
pub fn junit(view: &View<'_>, from: Option<Severity>, out: &mut dyn Write) -> io::Result<()> {
    let outcome = view.outcome;
    let fails = |severity: Severity| from.is_some_and(|from| severity >= from);
    let failed = outcome.cards.iter().filter(|c| c.findings.iter().any(|f| fails(f.severity)));
    let failed = failed.count();
    let whole = &outcome.session.findings;
    let affected = whole.iter().filter(|finding| fails(finding.severity)).count();
    let (unread, cases) = (outcome.unread.len(), outcome.cards.len());
    let gate = view.gate_missing();
    let affected = affected + gate.len();
    let tests = whole.len() + gate.len() + unread;
    let session = Counted { tests, failures: affected, errors: unread };
    let duration_s = seconds(outcome.session.duration_s);

    let mut xml: Xml<'_> = Writer::new_with_indent(&mut *out, b' ', 2);
    xml.write_event(Event::Decl(BytesDecl::new("1.0", Some("UTF-8"), None)))?;
    let all = Counted { tests: session.tests + cases, failures: affected + failed, errors: unread };
    let attributes = all.attributes();
    let suites = xml.create_element("testsuites").with_attribute(("name", "teleassay"));
    let suites = suites.with_attributes(pairs(&attributes));
    suites.with_attribute(("time", duration_s.as_str())).write_inner_content(|xml| {
        if session.tests > 0 {
            let attributes = session.attributes();
            let suite = xml.create_element("testsuite").with_attribute(("name", "session"));
            suite.with_attributes(pairs(&attributes)).write_inner_content(|xml| {
                whole.iter().try_for_each(|f| affects(view, f, fails(f.severity), xml))?;
                gate.iter().try_for_each(|text| not_assessed(text, xml))?;
                outcome.unread.iter().try_for_each(|file| missing(file, xml))
            })?;
        }
        let episodes = Counted { tests: cases, failures: failed, errors: 0 };
        let attributes = episodes.attributes();
        let suite = xml.create_element("testsuite").with_attribute(("name", "episodes"));
        let suite = suite.with_attributes(pairs(&attributes));
        suite.with_attribute(("time", duration_s.as_str())).write_inner_content(|xml| {
            outcome.cards.iter().try_for_each(|card| episode(view, card, &fails, xml))?;
            text(xml, "system-out", &format!("{}\n{}", view.command, cautions::FULL))
        })?;
        Ok(())
    })?;
    writeln!(out)
}

struct Counted {
    tests: usize,
    failures: usize,
    errors: usize,
}

impl Counted {
    fn attributes(&self) -> [(&'static str, String); 3] {
        let Self { tests, failures, errors } = self;
        [("tests", tests), ("failures", failures), ("errors", errors)]
            .map(|(name, number)| (name, number.to_string()))
    }
}

fn pairs<'a>(owned: &'a [(&'static str, String)]) -> impl Iterator<Item = (&'a str, &'a str)> {
    owned.iter().map(|(name, value)| (*name, value.as_str()))
}

fn episode(
    view: &View<'_>,
    card: &Scorecard,
    fails: &dyn Fn(Severity) -> bool,
    xml: &mut Xml<'_>,
) -> io::Result<()> {
    let (id, time) = (attribute(&card.key.id), seconds(card.duration_s));
    let case = xml.create_element("testcase").with_attributes([
        ("classname", "teleassay.episode"),
        ("name", id.as_ref()),
        ("time", time.as_str()),
    ]);
    let details = |fail: bool| {
        let some = card.findings.iter().filter(move |f| fails(f.severity) == fail);
        let mut lines: Vec<String> =
            some.map(|f| with_remedy(&finding_message(f, view.rig), f.check)).collect();
        if lines.len() > MOST {
            let more = lines.len() - MOST;
            lines.truncate(MOST);
            lines.push(format!("and {more} more"));
        }
        lines.join("\n")
    };
    let (bad, rest) = (details(true), details(false));
    if bad.is_empty() && rest.is_empty() {
        return case.write_empty().map(|_| ());
    }
    case.write_inner_content(|xml| {
        if let Some(first) = card.findings.iter().find(|f| fails(f.severity)) {
            problem(xml, "failure", first.check.id, &finding_message(first, view.rig), &bad)?;
        }
        if rest.is_empty() { Ok(()) } else { text(xml, "system-out", &rest) }
    })
    .map(|_| ())
}

/// What affects the session as a whole.
fn affects(
    view: &View<'_>,
    finding: &SessionFinding,
    fails: bool,
    xml: &mut Xml<'_>,
) -> io::Result<()> {
    let message = session_message(finding, &view.outcome.cards, view.rig);
    let place = view.joint(finding.joint);
    let name = format!("{} {} {place}", finding.check.id, finding.metric.id);
    let check = finding.check;
    let details = format!("{message}\nCause: {}\nTo do: {}", check.cause, check.remedy);
    let case = xml.create_element("testcase").with_attributes([
        ("classname", "teleassay.session"),
        ("name", attribute(name.trim_end()).as_ref()),
    ]);
    case.write_inner_content(|xml| {
        if fails {
            problem(xml, "failure", check.id, &message, &details)
        } else {
            text(xml, "system-out", &details)
        }
    })
    .map(|_| ())
}

/// What had to be looked at and was not.
fn not_assessed(text: &str, xml: &mut Xml<'_>) -> io::Result<()> {
    let case = xml
        .create_element("testcase")
        .with_attributes([("classname", "teleassay.gate"), ("name", attribute(text).as_ref())]);
    case.write_inner_content(|xml| problem(xml, "failure", "not-assessed", text, text)).map(|_| ())
}

fn missing(file: &Unread, xml: &mut Xml<'_>) -> io::Result<()> {
    let path = file.path.display().to_string();
    let case = xml
        .create_element("testcase")
        .with_attributes([("classname", "teleassay.files"), ("name", attribute(&path).as_ref())]);
    let kind = if file.differs() { "different-columns" } else { "not-read" };
    case.write_inner_content(|xml| problem(xml, "error", kind, &file.reason, &file.reason))
        .map(|_| ())
}

fn problem(
    xml: &mut Xml<'_>,
    element: &str,
    kind: &str,
    message: &str,
    details: &str,
) -> io::Result<()> {
    let element = xml.create_element(element);
    let element =
        element.with_attributes([("type", kind), ("message", attribute(message).as_ref())]);
    element.write_text_content(BytesText::new(&legal_xml(details))).map(|_| ())
}

fn text(xml: &mut Xml<'_>, element: &str, details: &str) -> io::Result<()> {
    xml.create_element(element).write_text_content(BytesText::new(&legal_xml(details))).map(|_| ())
}

/// Seconds with the three decimals that every reader takes.
fn seconds(value: f64) -> String {
    format!("{:.3}", value.max(0.0))
}

/// Text in one line: readers make a space of a line break in an attribute anyway.
fn attribute(text: &str) -> Cow<'_, str> {
    let line = legal_xml(text).replace(['\t', '\n', '\r'], " ");
    shorten(&line, LONGEST).into_owned().into()
}
