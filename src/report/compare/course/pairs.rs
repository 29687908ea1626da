//! Each session with the first, in sentences: what is to be done, and what to know of it.

use super::super::compared::Compared;
use super::super::sentence::sentence;
use super::super::terminal::overall;
use super::super::words::step;
use super::view::Courses;
use super::words::title;
use crate::compare::{Answer, Verdict};

/// One pair in sentences. A is the first session and B the other.
pub(super) struct Said {
    /// Number of the session, counted from 1.
    pub number: usize,
    /// Can both be trained on together?
    pub answer: String,
    /// What to do, or why not.
    pub steps: Vec<String>,
    /// The command that compares the two alone.
    pub command: String,
}

/// All pairs in their order.
pub(super) fn said(view: &Courses<'_>) -> Vec<Said> {
    let one = |(at, pair): (usize, &Compared<'_>)| {
        let advice = &pair.comparison.advice;
        let steps = matches!(advice.verdict, Verdict::Correct | Verdict::KeepApart);
        let steps = advice.steps.iter().filter(|_| steps && !pair.comparison.identical());
        Said {
            number: at + 2,
            answer: sentence(pair).text,
            steps: steps.map(|one| step(pair, one)).collect(),
            command: pair.command.to_owned(),
        }
    };
    view.pairs.iter().enumerate().map(one).collect()
}

/// What to know of differences, and of pairs as a whole, each once with the numbers of its sessions.
pub(super) fn notes(view: &Courses<'_>) -> Vec<String> {
    let mut notes: Vec<(String, Vec<String>)> = Vec::new();
    let mut add =
        |number: usize, note: String| match notes.iter_mut().find(|(known, _)| *known == note) {
            Some((_, numbers)) => numbers.push(number.to_string()),
            None => notes.push((note, vec![number.to_string()])),
        };
    for line in view.lines {
        for (at, point) in line.points.iter().enumerate() {
            if matches!(point.answer, Some(Answer::Different(_))) {
                point.notes.iter().for_each(|note| add(at + 1, format!("{}: {note}", title(line))));
            }
        }
    }
    for (at, pair) in view.pairs.iter().enumerate() {
        for note in overall(pair) {
            add(at + 2, note);
        }
    }
    notes.into_iter().map(|(note, numbers)| format!("{}: {note}", numbers.join(", "))).collect()
}
