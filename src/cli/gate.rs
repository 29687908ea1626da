//! Whether a run stays within limits, and the exit code that says so.

use super::args::{FailOn, RunArgs};
use crate::model::{Scorecard, Severity, Verdict};
use crate::report::View;

/// Whether a run stays within what the person set.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Gate {
    /// Within limits.
    Open,
    /// Beyond limits, files were not read, or what was required could not be assessed.
    Closed,
}

impl Gate {
    /// Judges what is shown: the session, or the episode that was asked for.
    pub fn of(view: &View<'_>, run: &RunArgs) -> Self {
        let outcome = view.outcome;
        let only = run.episode.as_deref().and_then(|id| view.find(id)).map(|at| view.card(at));
        let (verdict, unread) = if let Some(card) = only {
            (of_card(view, card), own_file_unread(view, card))
        } else {
            // With a baseline only what is new counts.
            let new = outcome.known.as_ref().map(|known| known.verdict);
            (new.unwrap_or(outcome.session.verdict), !outcome.unread.is_empty())
        };
        let beyond = match (run.fail_on.severity(), run.max_bad_share) {
            (None, _) => false,
            (Some(least), None) => verdict >= Verdict::from(least),
            // The episodes are judged by their share.
            (Some(least), Some(_)) => of_session(view) >= Verdict::from(least),
        };
        let missing =
            outcome.required.as_ref().is_some_and(|required| !required.missing.is_empty());
        // What was not read was not checked, and that is never a pass.
        if beyond || unread || missing || !shortfalls(view, run).is_empty() {
            Self::Closed
        } else {
            Self::Open
        }
    }

    /// Judges a comparison by the worst difference of all.
    pub fn of_comparison(worst: Option<Severity>, fail_on: FailOn, read: bool) -> Self {
        let beyond = match fail_on {
            FailOn::Fail => worst == Some(Severity::Fail),
            FailOn::Warn => worst.is_some(),
            FailOn::Never => false,
        };
        if beyond || !read { Self::Closed } else { Self::Open }
    }

    /// The exit code.
    pub fn code(self) -> u8 {
        match self {
            Self::Open => 0,
            Self::Closed => 1,
        }
    }
}

/// The worst finding of the session as a whole; with a baseline only what is new counts.
fn of_session(view: &View<'_>) -> Verdict {
    let findings = view.outcome.session.findings.iter().enumerate();
    let new = findings.filter(|(at, _)| view.known_of_session(*at) != Some(true));
    new.map(|(_, finding)| Verdict::from(finding.severity)).max().unwrap_or(Verdict::Pass)
}

/// What falls short of what a pipeline needs, in words.
pub fn shortfalls(view: &View<'_>, run: &RunArgs) -> Vec<String> {
    let outcome = view.outcome;
    let mut short = Vec::new();
    if let (Some(most), Some(least)) = (run.max_bad_share, run.fail_on.severity()) {
        let least = Verdict::from(least);
        let bad = outcome.cards.iter().filter(|card| of_card(view, card) >= least).count();
        let all = outcome.cards.len();
        if bad as f64 > most * all as f64 {
            let share = 100.0 * bad as f64 / all.max(1) as f64;
            short.push(format!(
                "{bad} of {all} episodes {} ({share:.1} %), allowed are {} %",
                if least == Verdict::Fail { "fail" } else { "warn or fail" },
                (1e6 * most).round() / 1e4
            ));
        }
    }
    if let Some(least) = run.min_usable_minutes {
        let usable = outcome.session.usable_s / 60.0;
        if usable < least {
            short
                .push(format!("{usable:.1} min can be trained on as they are, {least} are wanted"));
        }
    }
    short
}

/// The verdict of an episode; with a baseline only what is new counts.
fn of_card(view: &View<'_>, card: &Scorecard) -> Verdict {
    match &view.outcome.known {
        Some(known) => Verdict::of(card.findings.iter().filter(|f| !known.of(card, f))),
        None => card.verdict,
    }
}

/// Whether part of the episode's own file was not read.
fn own_file_unread(view: &View<'_>, card: &Scorecard) -> bool {
    let own = view.inputs.get(card.key.rows.input as usize);
    own.is_some_and(|own| view.outcome.unread.iter().any(|unread| unread.path == own.path))
}
