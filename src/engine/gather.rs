//! Gathers cards into the session: the ledger, the cohort checks, the verdict.

use std::cmp::Reverse;
use std::sync::Arc;

use super::card;
use super::plan::Plan;
use super::shard::Shard;
use super::workers::Workers;
use crate::check::{Check, CohortSheet, Gate, rig_of};
use crate::cohort::normalisation;
use crate::judge::{self, Tally};
use crate::model::{
    CardPlace, EpisodeIndex, Finding, JointId, Ledger, LeftOut, NotAssessed, Outcome, Progress,
    Reading, Rig, Scorecard, SessionReading, Skipped, SpanList, Unread, Verdict,
};

/// Everything gathered so far.
pub struct Gathered<'a> {
    plan: &'a Plan,
    rig: Arc<Rig>,
    ledger: Ledger,
    tally: Tally,
    cards: Vec<Scorecard>,
    /// Hashes of the cards' episodes, by their place.
    contents: Vec<(EpisodeIndex, Option<u64>)>,
    unread: Vec<Unread>,
    skipped: Skipped,
    left_out: Vec<LeftOut>,
}

impl<'a> Gathered<'a> {
    /// Nothing yet but what is known beforehand: files that cannot be read, and why a check has
    /// nothing to look at.
    pub fn new(
        plan: &'a Plan,
        rig: &Arc<Rig>,
        (unread, skipped): (&[Unread], &Skipped),
        without: impl Fn(&Check) -> Option<&'static str>,
    ) -> Self {
        let left_out =
            |check: &&'static Check| Some(LeftOut { check: check.spec(), reason: without(check)? });
        Self {
            plan,
            rig: Arc::clone(rig),
            ledger: Ledger::default(),
            tally: Tally::default(),
            cards: Vec::new(),
            contents: Vec::new(),
            unread: unread.to_vec(),
            skipped: skipped.clone(),
            left_out: plan.checks.iter().filter_map(left_out).collect(),
        }
    }

    /// What could not be read so far.
    pub fn unread(&self) -> &[Unread] {
        &self.unread
    }

    /// Adds the next shard in the order of the dataset.
    pub fn add(&mut self, shard: Shard, progress: &mut Progress) {
        self.ledger.append(&shard.ledger);
        let indexes = shard.cards.iter().map(|card| card.key.index);
        self.contents.extend(indexes.zip(shard.contents));
        for mut card in shard.cards {
            self.tally.episode(&card.not_assessed);
            if !self.plan.keep_readings {
                card.not_assessed = Vec::new();
            }
            progress.done_episodes += 1;
            progress.frames += card.frames as u64;
            progress.failed += u64::from(card.verdict == Verdict::Fail);
            progress.warned += u64::from(card.verdict == Verdict::Warn);
            self.cards.push(card);
        }
        for unread in shard.unread {
            if !self.unread.contains(&unread) {
                self.unread.push(unread);
            }
        }
    }

    /// Runs the cohort checks and closes the session.
    pub fn outcome(mut self, workers: &Workers) -> Outcome {
        let mut whole: Vec<SessionReading> = Vec::new();
        let specs: Vec<_> = self.plan.checks.iter().map(|check| check.spec()).collect();
        self.ledger.settle(&specs);
        // None of them looks at what another one found; entered in their order.
        let wanted = |check: &&&Check| self.plan.keep_readings || !check.only_readings;
        let checks: Vec<_> = self.plan.cohort.iter().filter(wanted).copied().collect();
        // The dear ones first, lest one thread be left with two of them: those that look at motion, of
        // which the last take longest.
        let mut order: Vec<usize> = (0..checks.len()).collect();
        order.sort_by_key(|&at| (!checks[at].looks_at_motion, Reverse(at)));
        // Behind them the rows of the normalisation table, for whoever has nothing left to do.
        let rows = normalisation::dimensions(&self.ledger);
        let job = |turn: usize| match order.get(turn) {
            Some(&at) => (Some((at, self.look(checks[at]))), None),
            None => (None, normalisation::dimension(&self.ledger, turn - order.len())),
        };
        let turns: Vec<usize> = (0..order.len() + rows).collect();
        let (all, table): (Vec<_>, Vec<_>) =
            workers.map(&turns, |turn| job(*turn)).into_iter().unzip();
        let mut all: Vec<(usize, Found)> = all.into_iter().flatten().collect();
        all.sort_by_key(|(at, _)| *at);
        for (_, found) in all {
            whole.extend(self.enter(found));
        }
        let begin = |read: &SessionReading| Some(self.cards.get(read.from?)?.key.index);
        let begins: Vec<Option<EpisodeIndex>> = whole.iter().map(begin).collect();
        self.cards.sort_by_key(|card| card.key.index);
        self.unread.sort_by(|x, y| x.path.cmp(&y.path));
        let place = |index: EpisodeIndex| {
            self.cards.iter().position(|card| card.key.index == index).map(CardPlace::new)
        };
        let places: Vec<Option<CardPlace>> =
            begins.into_iter().map(|begin| place(begin?)).collect();
        let limits = &self.plan.limits;
        let mut session = judge::session(&mut self.cards, self.tally, &self.ledger, limits);
        judge::cohort(&mut session, &whole, &self.plan.limits, &places);
        session.readings = whole;
        session.left_out = self.left_out;
        let Self { cards, unread, skipped, ledger, mut contents, .. } = self;
        contents.sort_by_key(|(index, _)| *index);
        let contents = contents.into_iter().map(|(_, content)| content).collect();
        Outcome {
            session,
            cards,
            unread,
            skipped,
            ledger,
            normalisation: table.into_iter().flatten().collect(),
            contents,
            accepted: Vec::new(),
            known: None,
            required: None,
        }
    }

    /// What a cohort check finds, judged: in the dimensions that it applies to.
    fn look(&self, check: &Check) -> Found {
        let gate = Gate::of(check.spec, &self.rig);
        let Some(joints) = &gate.joints else {
            return self.look_at(check, &self.ledger, &self.rig, &|joint| joint);
        };
        let mut found = Found::default();
        if !gate.shut() {
            let place = |joint: JointId| joints[usize::from(joint)] as JointId;
            let part = self.ledger.part(joints);
            found = self.look_at(check, &part, &rig_of(&self.rig, joints), &place);
        }
        let whole = gate.shut();
        let missed = gate.left_out.into_iter().map(|(joint, why)| NotAssessed {
            check: check.spec,
            joint: (!whole).then_some(joint as JointId),
            reason: why.into(),
        });
        found.not_assessed.extend(missed);
        found
    }

    /// The same in a ledger of some dimensions; `place` gives their places in the whole rig.
    fn look_at(
        &self,
        check: &Check,
        ledger: &Ledger,
        rig: &Rig,
        place: &dyn Fn(JointId) -> JointId,
    ) -> Found {
        let mut found = Found::default();
        let id =
            |row: usize| self.cards.get(row).map_or("?".to_owned(), |card| card.key.id.clone());
        let mut take = |row: usize, mut reading: Reading, note: String| {
            if row >= self.cards.len() {
                return;
            }
            reading.joint = reading.joint.map(place);
            for mut finding in judge::findings(std::slice::from_ref(&reading), &self.plan.limits) {
                finding.note = named(&note, rig, id);
                found.findings.push((row, finding));
            }
            found.value(row, self.cards.len(), &reading);
            if self.plan.keep_readings {
                found.readings.push((row, reading));
            }
        };
        let mut sheet = CohortSheet::handing_on(&mut take);
        sheet.rig = Some(rig);
        match check.lacks(&self.rig) {
            Some(reason) => sheet.not_assessed(check.spec(), reason),
            None => check.measure_session(ledger, &self.plan.params, &mut sheet),
        }
        let CohortSheet { mut session, not_assessed, .. } = sheet;
        for whole in &mut session {
            whole.reading.joint = whole.reading.joint.map(place);
        }
        Found { whole: session, not_assessed, ..found }
    }

    /// Enters it in ledger, cards and tally; gives what it says of the session as a whole.
    fn enter(&mut self, found: Found) -> Vec<SessionReading> {
        let episodes = self.cards.len() as u64;
        for missed in &found.not_assessed {
            self.tally.session(missed, episodes);
        }
        for (row, finding) in found.findings {
            card::add(&mut self.cards[row], finding);
        }
        for (reading, values) in found.columns {
            self.ledger.add(&reading, values);
        }
        for (row, reading) in found.readings {
            self.cards[row].readings.push(reading);
        }
        found.whole
    }
}

/// What a cohort check found. Of its readings only the numbers stay, as the ledger wants them.
#[derive(Default)]
struct Found {
    whole: Vec<SessionReading>,
    not_assessed: Vec<NotAssessed>,
    findings: Vec<(usize, Finding)>,
    /// A reading of each column, and its value in each row up to the last that has one.
    columns: Vec<(Reading, Vec<f32>)>,
    /// All of them, where cards keep them.
    readings: Vec<(usize, Reading)>,
}

impl Found {
    fn value(&mut self, row: usize, rows: usize, reading: &Reading) {
        let Reading { check, metric, joint, .. } = *reading;
        let same = |c: &(Reading, Vec<f32>)| c.0.is(check, metric, joint);
        let at = self.columns.iter().position(same).unwrap_or_else(|| {
            let (spans, note) = (SpanList::default(), None);
            self.columns.push((Reading { spans, note, ..*reading }, Vec::with_capacity(rows)));
            self.columns.len() - 1
        });
        let values = &mut self.columns[at].1;
        if values.len() <= row {
            values.resize(row + 1, f32::NAN);
        }
        values[row] = reading.value as f32;
    }
}

/// Turns `metric@3` into `metric of elbow`, and `copy of#7` into `copy of episode` and its name.
fn named(note: &str, rig: &Rig, episode: impl Fn(usize) -> String) -> String {
    let one = |token: &str| {
        if let Some((metric, joint)) = token.split_once('@') {
            let name = joint.parse().map_or("j?", |joint| rig.joint_name(joint));
            format!("{} of {name}", metric.replace('_', " "))
        } else if let Some((words, row)) = token.split_once('#') {
            format!("{words} episode {}", row.parse().map_or_else(|_| "?".to_owned(), &episode))
        } else {
            token.replace('_', " ")
        }
    };
    note.split(", ").filter(|token| !token.is_empty()).map(one).collect::<Vec<_>>().join(", ")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::{AngleUnit, ClockStorage, Joint};

    #[test]
    fn notes_name_joints() {
        let rig = Rig {
            joints: vec![Joint::named("waist"), Joint::named("elbow")],
            rate_hz: None,
            period_s: 0.1,
            clock: ClockStorage::None,
            unit: AngleUnit::Radian,
            unit_declared: false,
            ..Rig::default()
        };
        assert_eq!(
            named("follower_range@1, speed_p95, copy of#7", &rig, |row| format!("e{row}")),
            "follower range of elbow, speed p95, copy of episode e7"
        );
        assert_eq!(named("", &rig, |_| String::new()), "");
    }
}
