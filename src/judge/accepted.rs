//! Takes accepted findings out of the verdicts. They stay with the card and with the session, next
//! to what other findings explain, so that nothing is lost.

use chrono::NaiveDate;
use globset::{Glob, GlobMatcher};

use super::session::tallied;
use super::suppress::explained;
use crate::model::{
    Acceptance, Accepted, CheckSpec, JointId, Outcome, Rig, Suppressed, Verdict, Why,
};

/// Applies what is accepted on this day to an outcome; without a day nothing is past.
pub fn accept(outcome: &mut Outcome, rig: &Rig, list: &[Acceptance], today: Option<NaiveDate>) {
    for said in list {
        let past = said.until.zip(today).is_some_and(|(until, today)| until < today);
        let findings = if past { 0 } else { take_in(outcome, rig, said) };
        outcome.accepted.push(Accepted { said: said.clone(), findings, past });
    }
    if outcome.accepted.iter().any(|one| one.findings > 0) {
        tallied(&mut outcome.session, &outcome.cards);
    }
}

fn take_in(outcome: &mut Outcome, rig: &Rig, said: &Acceptance) -> u64 {
    let joint = match &said.joint {
        None => None,
        Some(name) => match rig.joints.iter().position(|joint| joint.name == *name) {
            Some(at) => Some(at as JointId),
            None => return 0,
        },
    };
    let is = |check: &CheckSpec, of: Option<JointId>| {
        said.check.is(check) && (joint.is_none() || joint == of)
    };
    let ids: Vec<GlobMatcher> =
        said.episodes.iter().filter_map(|id| Some(Glob::new(id).ok()?.compile_matcher())).collect();
    let mut taken = 0;
    for card in &mut outcome.cards {
        let id = card.key.id.as_str();
        let named = said.episodes.iter().any(|known| known == id);
        if !(said.episodes.is_empty() || named || ids.iter().any(|glob| glob.is_match(id))) {
            continue;
        }
        let before = card.suppressed.len();
        let gone = card.findings.extract_if(.., |finding| is(finding.check, finding.joint));
        card.suppressed
            .extend(gone.map(|f| Suppressed::new(&f, Why::Accepted, (said.check, f.joint))));
        if card.suppressed.len() > before {
            taken += (card.suppressed.len() - before) as u64;
            card.verdict = Verdict::of(&card.findings);
        }
    }
    if said.episodes.is_empty() {
        let session = &mut outcome.session;
        let gone = session.findings.extract_if(.., |finding| is(finding.check, finding.joint));
        let gone: Vec<Suppressed> =
            gone.map(|f| explained(&f, Why::Accepted, (said.check, f.joint))).collect();
        taken += gone.len() as u64;
        session.explained.extend(gone);
    }
    taken
}
