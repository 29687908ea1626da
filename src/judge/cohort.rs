//! What cohort checks measured on the session as a whole, held against its limits.

use super::limits::Limits;
use super::severity::findings;
use super::suppress::suppress_session;
use super::worst::worse;
use crate::model::{
    CardPlace, Finding, Reading, Session, SessionFinding, SessionReading, Stretch, Verdict,
};

/// Puts what lies beyond its limit on the session's card, worst first: for each check and joint
/// only the worst measurement. `places` are those of the cards from which on each reading is so.
pub fn cohort(
    session: &mut Session,
    readings: &[SessionReading],
    limits: &Limits,
    places: &[Option<CardPlace>],
) {
    let plain: Vec<Reading> = readings.iter().map(|r| r.reading.clone()).collect();
    for found in findings(&plain, limits) {
        let same = |r: &SessionReading| r.reading.is(found.check, found.metric, found.joint);
        let Some(at) = readings.iter().position(same) else { continue };
        let read = &readings[at];
        let last = CardPlace::new((session.episodes as usize).saturating_sub(1));
        let first = places.get(at).copied().flatten();
        let stretch = first.map(|first| Stretch { first, last });
        if stretch.is_some_and(|s| session.findings.iter().any(|f| tells(f, s, &found))) {
            continue;
        }
        session.findings.push(SessionFinding {
            check: found.check,
            metric: found.metric,
            severity: found.severity,
            joint: found.joint,
            value: found.value,
            limit: found.limit,
            episodes: read.episodes,
            of: read.of,
            interval: None,
            read: read.of,
            at_limit: false,
            stretch,
            note: found.note,
        });
        session.verdict = session.verdict.max(Verdict::from(found.severity));
    }
    let explained = suppress_session(&mut session.findings);
    session.explained.extend(explained);
    let beyond = |f: &SessionFinding| (f.metric.bound, f.value, f.limit);
    session
        .findings
        .sort_by(|a, b| b.severity.cmp(&a.severity).then_with(|| worse(beyond(b), beyond(a))));
}

/// Whether a finding tells of the same change with its episodes: it begins or ends within two
/// episodes of where the other begins, which is as well as a change can be placed.
fn tells(told: &SessionFinding, other: Stretch, found: &Finding) -> bool {
    let Some(Stretch { first, last }) = told.stretch else { return false };
    let change = if first == CardPlace::default() { last.get() + 1 } else { first.get() };
    change.abs_diff(other.first.get()) <= 2
        && told.joint == found.joint
        && told.severity >= found.severity
}

#[cfg(test)]
mod tests {
    use super::super::{Tally, session};
    use super::*;
    use crate::model::{CheckSpec, Family, JointId, Ledger, Metric, Severity, SpanList, Unit};

    static OFFSET: Metric =
        Metric::of_joint("offset", Unit::Radian, "offset").above(Some(0.02), None);
    static SAG: Metric = Metric::of_joint("sag", Unit::Radian, "sag").above(Some(0.02), None);
    static DRIFT: CheckSpec = CheckSpec {
        id: "drift",
        family: Family::Session,
        applies_to: crate::model::SignalKind::ALL,
        needs: crate::model::Relation::Nothing,
        advisory: true,
        source: "",
        cause: "",
        remedy: "",
        reference: "",
        metrics: &[&OFFSET, &SAG],
        params: &[],
    };

    fn read(metric: &'static Metric, joint: JointId, value: f64) -> SessionReading {
        let (joint, spans, note) = (Some(joint), SpanList::default(), Some("up".into()));
        let reading = Reading { check: &DRIFT, metric, joint, value, spans, note };
        SessionReading { reading, from: Some(3), episodes: 7, of: 10 }
    }

    #[test]
    fn the_worst_of_each_joint_is_a_finding_with_its_place() {
        let readings = [
            read(&OFFSET, 0, 0.03),
            read(&SAG, 0, 0.05),
            read(&OFFSET, 1, 0.08),
            read(&SAG, 1, 0.02),
        ];
        let limits = Limits::default();
        let mut card = session(&mut [], Tally::default(), &Ledger::default(), &limits);
        card.episodes = 10;
        assert_eq!(card.verdict, Verdict::Pass);
        cohort(
            &mut card,
            &readings,
            &limits,
            &[Some(3), Some(4), Some(5), None].map(|at| at.map(CardPlace::new)),
        );
        let told: Vec<(&str, Option<JointId>, &str)> =
            card.findings.iter().map(|f| (f.metric.id, f.joint, f.note.as_str())).collect();
        assert_eq!(told, [("offset", Some(1), "up"), ("sag", Some(0), "up")]);
        assert_eq!(card.findings[0].stretch, Some(Stretch { first: 5.into(), last: 9.into() }));
        assert_eq!((card.findings[0].episodes, card.findings[0].of), (7, 10));
        assert_eq!(card.findings[0].severity, Severity::Warn);
        assert_eq!(card.verdict, Verdict::Warn);
    }
}
