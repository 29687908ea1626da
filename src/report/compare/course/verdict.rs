//! The answer first: what differs, and since when?

use super::view::Courses;
use super::words::{since, title};
use crate::compare::{Answer, Aspect, Comparison, CourseLine, Group, Since, Verdict};
use crate::report::files::not_audited;
use crate::report::text::list;

/// Things that are named in the verdict.
const MOST: usize = 3;
/// Joints of one aspect that are named.
const MOST_JOINTS: usize = 2;

/// The answer over all sessions, and the sentence that goes with it.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Answered {
    pub answer: Answer,
    pub text: String,
}

/// The answer in a sentence or two.
pub(super) fn verdict(view: &Courses<'_>) -> Answered {
    let names = view.names();
    let repeated = named(view, &names, Comparison::identical);
    let worst = view.lines.iter().filter_map(CourseLine::worst).max();
    let (answer, mut text) = match worst {
        Some(severity) => (Answer::Different(severity), differences(view, &names)),
        None => alike(view, &names, repeated.is_empty()),
    };
    if !repeated.is_empty() {
        let first = names.first().map_or("", String::as_str);
        let verb = if repeated.len() == 1 { "holds" } else { "hold" };
        let more = list(repeated);
        text = format!("{text}. {more} {verb} the same recordings as {first}: keep one of them");
    }
    let Some(files) = not_audited(&view.unread()) else { return Answered { answer, text } };
    // What was not read was not compared: that is never a plain yes.
    let answer = if answer == Answer::Same { Answer::Inconclusive } else { answer };
    Answered { answer, text: format!("{text}. But {files}") }
}

/// Names of the sessions whose comparison with the first is such.
fn named<'a>(
    view: &Courses<'_>,
    names: &'a [String],
    such: impl Fn(&Comparison) -> bool,
) -> Vec<&'a str> {
    let pairs = view.pairs.iter().zip(names.iter().skip(1));
    pairs.filter_map(|(pair, name)| such(pair.comparison).then_some(name.as_str())).collect()
}

/// Where no session is known to differ. `apart`: none holds the recordings of the first.
fn alike(view: &Courses<'_>, names: &[String], apart: bool) -> (Answer, String) {
    let sessions = view.sessions();
    let undecided =
        |one: &Comparison| one.advice.verdict == Verdict::CannotTell && !one.identical();
    let open = named(view, names, undecided);
    if open.is_empty() {
        let train = if apart { ": train on them together" } else { "" };
        return (Answer::Same, format!("all {sessions} sessions on the rig{train}"));
    }
    let open = if open.len() > MOST { format!("{} of them", open.len()) } else { list(open) };
    (Answer::Inconclusive, format!("nothing is known to differ, but {open} cannot be decided yet"))
}

/// `offset elbow since wednesday (2 of 4 sessions); lag of 5 joints only in tuesday (1 of 4
/// sessions)`. What training normalises by follows from the rest, and is named only where it is all.
fn differences(view: &Courses<'_>, names: &[String]) -> String {
    let all: Vec<&CourseLine> = view.lines.iter().filter(|line| line.worst().is_some()).collect();
    let statistics = |line: &&CourseLine| line.aspect.group() == Group::Statistics;
    let only_statistics = all.iter().all(statistics);
    let mut items: Vec<(Aspect, Since, Vec<&CourseLine>)> = Vec::new();
    for line in all.iter().filter(|line| only_statistics || !statistics(line)) {
        let since = line.since();
        match items.iter_mut().find(|(aspect, known, _)| *aspect == line.aspect && *known == since)
        {
            Some((_, _, lines)) => lines.push(line),
            None => items.push((line.aspect, since, vec![line])),
        }
    }
    let of = |(aspect, when, lines): &(Aspect, Since, Vec<&CourseLine>)| {
        let what = match lines.len() {
            n if n > MOST_JOINTS => format!("{} of {n} joints", aspect.title()),
            _ => lines.iter().map(|line| title(line)).collect::<Vec<_>>().join(", "),
        };
        let differing = lines.iter().map(|line| line.differing()).max().unwrap_or(0);
        format!("{what} {} ({differing} of {} sessions)", since(when, names), view.sessions())
    };
    let mut parts: Vec<String> = items.iter().take(MOST).map(of).collect();
    if items.len() > MOST {
        parts.push(format!("and {} more", items.len() - MOST));
    }
    let rig = all.iter().any(|line| line.aspect.group() == Group::Rig);
    let rest = if rig { "" } else { ". Nothing on the rig is known to differ" };
    format!("{}{rest}", parts.join("; "))
}
