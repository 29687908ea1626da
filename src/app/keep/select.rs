//! Which episodes are kept, and of each that is not, why.

use crate::app::AppError;
use crate::app::checks::of_names;
use crate::app::keep::condition::Condition;
use crate::app::keep::list::Listed;
use crate::app::keep::repairs::Repairs;
use crate::app::keep::request::{KeepVerdict, Selection};
use crate::model::{CardPlace, CheckSpec, Outcome, Rig, Scorecard, Severity, Verdict};
use crate::profile::nearest;
use crate::source::Input;

/// A selection whose names are known.
#[derive(Debug)]
pub(super) struct Selector {
    verdict: KeepVerdict,
    episodes: Option<Listed>,
    leave_out: Option<Listed>,
    without: Vec<&'static CheckSpec>,
    tasks: Vec<String>,
    condition: Option<Condition>,
}

impl Selector {
    /// Reads lists and names.
    pub fn of(selection: &Selection, rig: &Rig) -> Result<Self, AppError> {
        let episodes = Listed::read("--episodes", &selection.episodes)?;
        let usual = if episodes.is_some() { KeepVerdict::Fail } else { KeepVerdict::Warn };
        let condition = selection.condition.as_deref();
        Ok(Self {
            verdict: selection.verdict.unwrap_or(usual),
            episodes,
            leave_out: Listed::read("--leave-out", &selection.leave_out)?,
            without: of_names(&selection.without)?,
            tasks: selection.tasks.clone(),
            condition: condition.map(|text| Condition::read(text, rig)).transpose()?,
        })
    }

    /// Whether anything that is asked for needs an audit.
    pub fn needs_audit(&self) -> bool {
        self.verdict != KeepVerdict::Fail
            || !self.without.is_empty()
            || !self.tasks.is_empty()
            || self.condition.is_some()
    }

    /// Why episodes of these ids are left out by the lists; empty for those that stay.
    pub fn by_lists(&self, ids: &[&str]) -> Result<Vec<Vec<String>>, AppError> {
        let mut why = vec![Vec::new(); ids.len()];
        let lists = [
            (&self.episodes, false, "not in the list"),
            (&self.leave_out, true, "in the list to leave out"),
        ];
        for (list, out, reason) in lists {
            let Some(list) = list else { continue };
            for (at, listed) in list.among(ids)?.into_iter().enumerate() {
                if listed == out {
                    why[at].push(reason.to_owned());
                }
            }
        }
        Ok(why)
    }

    /// Why a card is left out by what was found; empty if it stays. What is repaired no longer counts.
    pub fn by_card(
        &self,
        outcome: &Outcome,
        place: CardPlace,
        inputs: &[Input],
        repairs: &Repairs,
    ) -> Vec<String> {
        let card = &outcome.cards[place.get()];
        let mut why = self.by_verdict(outcome, place, repairs);
        for check in &self.without {
            let own =
                card.findings.iter().any(|f| f.check.is(check) && !repairs.of(f.check, f.joint));
            let shared = outcome.session.findings.iter();
            let mut shared = shared.filter(|f| f.check.is(check) && f.covers(place));
            if own || shared.any(|f| !repairs.of(f.check, f.joint)) {
                why.push(format!("{} reports", check.id));
            }
        }
        if !self.tasks.is_empty() {
            match &card.key.task {
                Some(task) if self.tasks.iter().any(|wanted| **wanted == **task) => {}
                Some(task) => why.push(format!("task {task}")),
                None => why.push("no task".to_owned()),
            }
        }
        if let Some(condition) = &self.condition {
            match condition.met(card, inputs) {
                Some(true) => {}
                Some(false) => why.push("--where is not met".to_owned()),
                None => {
                    let missing = condition.missing(card);
                    let missing =
                        if missing.is_empty() { "a value".to_owned() } else { missing.join(", ") };
                    why.push(format!("--where asks for what was not measured: {missing}"));
                }
            }
        }
        why
    }

    fn by_verdict(&self, outcome: &Outcome, place: CardPlace, repairs: &Repairs) -> Vec<String> {
        let worst = match self.verdict {
            KeepVerdict::Fail => return Vec::new(),
            KeepVerdict::Warn => Verdict::Warn,
            KeepVerdict::Ok => Verdict::Pass,
        };
        let card: &Scorecard = &outcome.cards[place.get()];
        let left: Vec<_> = card.findings.iter().filter(|f| !repairs.of(f.check, f.joint)).collect();
        let verdict = Verdict::of(left.iter().copied());
        let mut why = Vec::new();
        if verdict > worst {
            let severity = if verdict == Verdict::Fail { Severity::Fail } else { Severity::Warn };
            let mut checks: Vec<&str> = Vec::new();
            for finding in left.iter().filter(|f| f.severity == severity) {
                if !checks.contains(&finding.check.id) {
                    checks.push(finding.check.id);
                }
            }
            why.push(format!("{}: {}", verdict.word(), checks.join(", ")));
        }
        // A failure of the rig is one of all its episodes, whichever are kept.
        let rig = outcome.session.findings.iter();
        let rig = rig.filter(|f| f.bars(place) && !repairs.of(f.check, f.joint));
        for finding in rig {
            let reason = format!("session: {}", finding.check.id);
            if !why.contains(&reason) {
                why.push(reason);
            }
        }
        why
    }

    /// Refuses tasks that no episode shows.
    pub fn check_tasks(&self, cards: &[Scorecard]) -> Result<(), AppError> {
        let mut known: Vec<&str> =
            cards.iter().filter_map(|card| card.key.task.as_deref()).collect();
        known.sort_unstable();
        known.dedup();
        let Some(task) = self.tasks.iter().find(|task| !known.contains(&task.as_str())) else {
            return Ok(());
        };
        let near = nearest(task, known.iter().copied());
        let hint = match (near, known.as_slice()) {
            (_, []) => "the data has no task column; declare it in the profile".to_owned(),
            (Some(near), _) => format!("did you mean \"{near}\"?"),
            (None, known) => {
                let shown: Vec<&str> = known.iter().copied().take(10).collect();
                format!("its tasks: {}", shown.join(", "))
            }
        };
        Err(AppError::input(format!("--task: no episode shows \"{task}\"")).with_hint(hint))
    }
}
