//! Findings that have a place in time, each with a letter.

use super::axis::Axis;
use super::traced::Traced;
use crate::model::Finding;

/// A finding that is marked.
pub(super) struct Mark<'a> {
    pub letter: char,
    pub finding: &'a Finding,
    /// Its spans in the window, in seconds from the start.
    pub spans_s: Vec<(f64, f64)>,
    /// The same as frames: first and last.
    pub frames: Vec<(u32, u32)>,
}

impl Mark<'_> {
    /// Whether it is shown with this joint: its own, or what concerns all of them.
    pub fn concerns(&self, joint: usize) -> bool {
        self.finding.joint.is_none_or(|own| usize::from(own) == joint)
    }
}

/// Findings of the joints that are drawn that have no place: they are of the whole episode.
pub(super) fn unplaced<'a>(traced: &Traced<'a>) -> Vec<&'a Finding> {
    let findings = traced.card.findings.iter();
    findings.filter(|f| f.spans.as_slice().is_empty() && drawn(traced, f)).collect()
}

fn drawn(traced: &Traced<'_>, finding: &Finding) -> bool {
    finding.joint.is_none_or(|joint| traced.joints.contains(&usize::from(joint)))
}

/// The findings with spans in the window, worst first, of the joints that are drawn.
pub(super) fn marks<'a>(traced: &Traced<'a>, axis: &Axis) -> Vec<Mark<'a>> {
    let card = traced.card;
    let mut marks = Vec::new();
    for finding in card.findings.iter().filter(|finding| drawn(traced, finding)) {
        let mut mark = Mark { letter: '+', finding, spans_s: Vec::new(), frames: Vec::new() };
        for span in finding.spans.as_slice() {
            if let Some(ends) = axis.within(span.start as usize, span.end as usize) {
                mark.spans_s.push(ends);
                mark.frames.push((span.start, span.end.saturating_sub(1).max(span.start)));
            }
        }
        if !mark.spans_s.is_empty() {
            marks.push(mark);
        }
    }
    for (mark, letter) in marks.iter_mut().zip('a'..='z') {
        mark.letter = letter;
    }
    marks
}
