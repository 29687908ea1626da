//! The verdict in one sentence: what a person wants to know first.

use super::about::subject;
use super::actions;
use super::assessed::Assessed;
use super::checks;
use super::files::not_audited;
use super::status::Status;
use super::text::{clean, count, wrap};
use super::view::View;
use super::words::{session_extent, titles};
use crate::model::{Scorecard, SessionFinding, Severity, Verdict};

/// A status and the sentences that go with it.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Sentence {
    pub status: Status,
    /// The verdict itself.
    pub text: String,
    /// Which checks failed or warned; may be empty.
    pub checks: String,
    /// What was not read, and families that were not assessed; may be empty.
    pub limits: String,
    /// How many checks could not be assessed; may be empty.
    pub silent: String,
}

impl Sentence {
    /// The verdict alone.
    pub fn new(status: Status, text: String) -> Self {
        Self { status, text, checks: String::new(), limits: String::new(), silent: String::new() }
    }

    /// All of it.
    pub fn whole(&self) -> String {
        let parts = [&self.text, &self.checks, &self.limits, &self.silent].map(String::as_str);
        parts.into_iter().filter(|part| !part.is_empty()).collect::<Vec<_>>().join(" ")
    }

    /// All of it in lines of at most `width`, the status in front.
    pub fn lines(&self, width: usize) -> Vec<String> {
        self.lines_of(&self.whole(), width)
    }

    /// The verdict and what was not assessed at all: the causes stand below it.
    pub fn lead(&self, width: usize) -> Vec<String> {
        self.lines_of(format!("{} {}", self.text, self.limits).trim_end(), width)
    }

    /// The verdict alone.
    pub fn last(&self, width: usize) -> Vec<String> {
        self.lines_of(&self.text, width)
    }

    fn lines_of(&self, text: &str, width: usize) -> Vec<String> {
        let word = self.status.word();
        let first = format!("{word:<6}  ");
        let mut lines = wrap(text, &first, first.len(), width);
        lines[0] = lines[0].replacen(word, &self.status.painted(), 1);
        lines
    }
}

/// The session's verdict.
pub(super) fn session(view: &View<'_>) -> Sentence {
    let session = &view.outcome.session;
    let assessed = Assessed::of(view);
    if let Some((status, text)) = actions::verdict(view) {
        let limits = assessed.not_assessed().unwrap_or_default();
        return against_baseline(view, Sentence { limits, ..Sentence::new(status, text) });
    }
    let (counts, n) = (session.counts, session.episodes);
    let checks_of = |severity| {
        let systemic = session.findings.iter().filter(move |f| f.severity == severity);
        let cards = view.outcome.cards.iter().flat_map(|card| &card.findings);
        let single = cards.filter(move |f| f.severity == severity);
        titles(systemic.map(|f| f.check).chain(single.map(|f| f.check)), 3)
    };
    let leading = session.findings.first();
    let silent = view.silent();
    let mut failed = String::new();
    let text = match (session.verdict, leading) {
        (Verdict::Fail, Some(finding)) if to_fix(view, finding) => {
            let what = match subject(finding.check) {
                "the rig" => "Fix the rig".to_owned(),
                what => format!("Look at {what}"),
            };
            format!("{what} first: {}.", rig_fault(view, finding))
        }
        (Verdict::Fail, _) => {
            let all = count(n, "episode");
            let train = match n - counts.fail.min(n) {
                0 => "",
                _ if leading.is_some() => "; check the rig before training on the rest",
                _ => "; train on the rest",
            };
            let failing = format!("{} of {all}", counts.fail);
            failed = format!("Failed: {}.", checks_of(Severity::Fail));
            format!("Exclude or re-record {failing}{train}.")
        }
        (Verdict::Warn, Some(finding)) => {
            let what = subject(finding.check);
            format!("Usable after review of {what}: {}.", rig_fault(view, finding))
        }
        (Verdict::Warn, None) => {
            let all = count(n, "episode");
            let warn = checks_of(Severity::Warn);
            format!("Usable after review of {} of {all}: {warn}.", counts.warn)
        }
        (Verdict::Pass, _) if view.nothing_assessed() => {
            let text = "Cannot be assessed: no check had the data that it needs.".to_owned();
            return Sentence::new(Status::NotAssessed, text);
        }
        // Most of the evidence is missing: that is not a pass, whatever the rest says.
        (Verdict::Pass, _) if 2 * silent > view.asked() => {
            let checks = count(view.asked() as u64, "check");
            let text = format!(
                "Cannot be assessed: {silent} of {checks} lack the data that they need. The rest \
                 found no fault: not a pass."
            );
            return Sentence::new(Status::NotAssessed, text);
        }
        (Verdict::Pass, _) if !view.outcome.unread.is_empty() => {
            let text = format!(
                "Cannot be assessed: {}. No fault found in the other {}: not a pass.",
                not_audited(&view.outcome.unread).unwrap_or_default(),
                count(n, "episode")
            );
            return Sentence::new(Status::NotAssessed, text);
        }
        // Only what was looked at is said to be sound.
        (Verdict::Pass, _) if !assessed.whole() => assessed.sound(),
        (Verdict::Pass, _) if n == 1 => "Usable. The one episode is within its limits.".to_owned(),
        (Verdict::Pass, _) => format!("Usable. All {n} episodes are within their limits."),
    };
    let mut limits: Vec<String> = Vec::new();
    if let Some(files) = not_audited(&view.outcome.unread) {
        limits.push(format!("{files}."));
    }
    limits.extend(assessed.not_assessed());
    let silent = if silent > 0 && assessed.whole() {
        let checks = count(view.asked() as u64, "check");
        format!("{silent} of {checks} could not be assessed.")
    } else {
        String::new()
    };
    let (status, limits) = (session.verdict.into(), limits.join(" "));
    against_baseline(view, Sentence { status, text, checks: failed, limits, silent })
}

/// With a baseline the first thing to know is whether anything is new: that is what counts.
fn against_baseline(view: &View<'_>, whole: Sentence) -> Sentence {
    let Some(known) = &view.outcome.known else { return whole };
    let new = match known.new {
        0 => "Nothing is new or worse than in the baseline.".to_owned(),
        new => format!("{} beyond the baseline.", count(new, "new finding")),
    };
    let text = format!("{new} As a whole: {}", whole.text);
    Sentence { status: known.verdict.into(), text, ..whole }
}

/// Whether a failure of the session lasts to its end: one that ended has been fixed since.
fn to_fix(view: &View<'_>, finding: &SessionFinding) -> bool {
    let lasts = finding.stretch.is_none_or(|s| s.last.get() + 1 >= view.outcome.cards.len());
    finding.severity == Severity::Fail && lasts
}

/// The one cause on the rig, its size and how much is affected: `elbow neutral offset 4.20 deg
/// (3.90 to 4.50) in 48 of 50 episodes`.
fn rig_fault(view: &View<'_>, finding: &SessionFinding) -> String {
    let (joint, title) = (view.joint(finding.joint), finding.check.title());
    let extent = session_extent(finding, &view.outcome.cards, view.rig);
    let what = if joint.is_empty() { title.clone() } else { format!("{joint} {title}") };
    // A column that is not what it is called is so or not: how much says nothing.
    let extent = match extent.find(" in ") {
        Some(at) if finding.check.family == crate::model::Family::Mapping => &extent[at + 1..],
        _ => &extent,
    };
    let at_limit = if finding.at_limit { ", at the limit" } else { "" };
    format!("{what} {extent}{at_limit}")
}

/// One episode's verdict.
pub(super) fn episode(card: &Scorecard) -> Sentence {
    let of = checks::count(card);
    let named = |severity| {
        let findings = card.findings.iter().filter(move |f| f.severity == severity);
        titles(findings.map(|f| f.check), 4)
    };
    let assessed = count(of.assessed as u64, "check");
    let id = clean(&card.key.id);
    let text = match card.verdict {
        Verdict::Fail if of.warned > 0 => format!(
            "{} of {assessed} failed: {}; {} warned.",
            of.failed,
            named(Severity::Fail),
            of.warned
        ),
        Verdict::Fail => {
            format!("{} of {assessed} failed: {}.", of.failed, named(Severity::Fail))
        }
        Verdict::Warn => {
            format!("{} of {assessed} warned: {}.", of.warned, named(Severity::Warn))
        }
        Verdict::Pass if of.assessed == 0 => {
            format!("Episode {id}: cannot be assessed: no check had the data that it needs.")
        }
        Verdict::Pass => format!("Episode {id} is within its limits in {assessed}."),
    };
    let status = match card.verdict {
        Verdict::Pass if of.assessed == 0 => Status::NotAssessed,
        verdict => verdict.into(),
    };
    Sentence::new(status, text)
}
