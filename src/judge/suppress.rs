//! A cause suppresses what follows from it: whoever reads the card should fix the cause, and the rest
//! goes with it. What was suppressed is kept next to what explains it.

use crate::catalogue::{Reach, SUPPRESSIONS};
use crate::model::{
    CheckSpec, Finding, JointId, SessionFinding, Severity, Stretch, Suppressed, Why,
};

/// What the rules look at.
pub(super) type Said = (&'static CheckSpec, Option<JointId>, Severity);

/// Check and joint of a finding.
type Place = (&'static CheckSpec, Option<JointId>);

/// Takes the suppressed findings out of an episode's findings, and returns them with what explains
/// each. A finding that is worse than its cause stays: nothing is made milder by this.
pub fn suppress(findings: &mut Vec<Finding>) -> Vec<Suppressed> {
    if findings.len() < 2 {
        return Vec::new();
    }
    let said = |f: &Finding| (f.check, f.joint, f.severity);
    let all: Vec<Said> = findings.iter().map(said).collect();
    let mut gone = Vec::new();
    findings.retain(|finding| {
        let cause = first_cause(said(finding), &all);
        gone.extend(cause.map(|by| Suppressed::new(finding, Why::Follows, by)));
        cause.is_none()
    });
    gone
}

/// What explains an episode's finding, if another one of it does.
pub fn cause_in_episode(finding: &Finding, all: &[Finding]) -> Option<Place> {
    let said = |f: &Finding| (f.check, f.joint, f.severity);
    let all: Vec<Said> = all.iter().map(said).collect();
    first_cause(said(finding), &all)
}

/// The same for a session's findings: a cause that affects some of the episodes suppresses nothing
/// that affects others.
pub(super) fn suppress_session(findings: &mut Vec<SessionFinding>) -> Vec<Suppressed> {
    let said = |f: &SessionFinding| (f.check, f.joint, f.severity);
    let all: Vec<(Said, Option<Stretch>)> = findings.iter().map(|f| (said(f), f.stretch)).collect();
    let mut gone = Vec::new();
    findings.retain(|finding| {
        let causes =
            all.iter().filter(|(_, where_)| where_.is_none() || *where_ == finding.stretch);
        let causes: Vec<Said> = causes.map(|(cause, _)| *cause).collect();
        let cause = first_cause(said(finding), &causes);
        gone.extend(cause.map(|by| explained(finding, Why::Follows, by)));
        cause.is_none()
    });
    gone
}

/// A finding of the session that another one of it explains.
pub(super) fn explained(finding: &SessionFinding, why: Why, by: Place) -> Suppressed {
    let SessionFinding { check, metric, joint, severity, value, .. } = *finding;
    Suppressed { check, metric, joint, severity, value, why, by: by.0, by_joint: by.1 }
}

/// Whether an episode's finding only follows from one of the session.
pub fn follows(finding: &Finding, cause: &SessionFinding) -> bool {
    let said = (finding.check, finding.joint, finding.severity);
    cause_of(said, &[(cause.check, cause.joint, cause.severity)]).is_some()
}

/// Those of an episode's findings that may explain others on other joints.
pub(super) fn of_neighbours(all: &[Finding]) -> Vec<Said> {
    let reach = |f: &&Finding| {
        let mut entries = SUPPRESSIONS.iter().filter(|entry| entry.cause.spec.is(f.check));
        entries.any(|entry| entry.reach == Reach::Neighbours)
    };
    all.iter().filter(reach).map(|f| (f.check, f.joint, f.severity)).collect()
}

/// What explains an episode's finding on another joint, in this episode alone. The session is judged
/// before: what all episodes show does not follow from what happened in each.
pub(super) fn by_neighbour(finding: &Finding, causes: &[Said]) -> Option<Place> {
    let reach = SUPPRESSIONS.iter().filter(|entry| entry.reach == Reach::Neighbours);
    reach.filter(|entry| entry.suppresses(finding.check)).find_map(|entry| {
        let cause = causes.iter().find(|(check, joint, severity)| {
            entry.cause.spec.is(check) && *severity >= finding.severity && *joint != finding.joint
        });
        cause.map(|(check, joint, _)| (*check, *joint))
    })
}

/// The first of the causes behind a finding: one that no other explains. A cause may follow from
/// another, and then that is what a person should fix.
fn first_cause(finding: Said, all: &[Said]) -> Option<Place> {
    let mut found = cause_of(finding, all)?;
    // As many steps as there are findings: no chain of relations is longer.
    for _ in all {
        match cause_of(found, all) {
            Some(next) if !next.0.is(finding.0) => found = next,
            _ => break,
        }
    }
    Some((found.0, found.1))
}

fn cause_of((check, joint, severity): Said, all: &[Said]) -> Option<Said> {
    SUPPRESSIONS.iter().filter(|entry| entry.suppresses(check)).find_map(|entry| {
        let cause = all.iter().find(|cause| {
            entry.cause.spec.is(cause.0)
                && cause.2 >= severity
                && match entry.reach {
                    Reach::Joint => cause.1 == joint,
                    Reach::Neighbours => false,
                    Reach::All => true,
                }
        });
        cause.copied()
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::catalogue::find;
    use crate::model::SpanList;

    fn finding(id: &str, joint: Option<JointId>, severity: Severity) -> Option<Finding> {
        let check = find(id)?.spec();
        let metric = check.metrics[0];
        let spans = SpanList::default();
        let note = String::new();
        Some(Finding { check, metric, severity, joint, value: 1.0, limit: 0.5, spans, note })
    }

    fn left(told: &[(&str, Option<JointId>, Severity)]) -> (Vec<&'static str>, u32) {
        let mut all: Vec<Finding> = told
            .iter()
            .filter_map(|(id, joint, severity)| finding(id, *joint, *severity))
            .collect();
        assert_eq!(all.len(), told.len(), "a check of that name does not exist");
        let count = suppress(&mut all).len() as u32;
        (all.iter().map(|f| f.check.id).collect(), count)
    }

    #[test]
    fn a_dead_joint_suppresses_its_own_consequences_only() {
        use Severity::{Fail, Warn};
        let (kept, count) = left(&[
            ("dead-joint", Some(2), Fail),
            ("neutral-offset", Some(2), Fail),
            ("tracking-error", Some(2), Warn),
            ("tracking-error", Some(1), Warn),
        ]);
        assert_eq!((kept, count), (vec!["dead-joint", "tracking-error"], 2));
    }

    #[test]
    fn what_is_suppressed_names_the_first_cause_and_keeps_its_size() {
        use Severity::{Fail, Warn};
        // A dead joint has no sign, and what has none has no offset either.
        let told = [("dead-joint", Some(2), Fail), ("sign-flip", Some(2), Fail)];
        let told = told.into_iter().chain([("neutral-offset", Some(2), Warn)]);
        let mut all: Vec<Finding> =
            told.filter_map(|(id, joint, severity)| finding(id, joint, severity)).collect();
        let gone = suppress(&mut all);
        assert_eq!((all.len(), gone.len()), (1, 2));
        for one in &gone {
            assert_eq!((one.by.id, one.by_joint, one.why), ("dead-joint", Some(2), Why::Follows));
            assert_eq!((one.joint, one.value), (Some(2), 1.0));
        }
        assert_eq!((gone[1].check.id, gone[1].severity), ("neutral-offset", Warn));
    }

    #[test]
    fn what_is_worse_than_its_cause_stays() {
        use Severity::{Fail, Warn};
        let (kept, count) = left(&[("frame-rate", None, Fail), ("dropped-frames", None, Warn)]);
        assert_eq!((kept.len(), count), (2, 0));
        let (kept, count) = left(&[("dropped-frames", None, Fail), ("frame-rate", None, Warn)]);
        assert_eq!((kept, count), (vec!["dropped-frames"], 1));
    }

    #[test]
    fn a_swap_of_the_arms_suppresses_every_joint() {
        use Severity::{Fail, Warn};
        let (kept, count) = left(&[
            ("arm-swap", None, Fail),
            ("tracking-lag", Some(0), Warn),
            ("neutral-offset", Some(3), Fail),
        ]);
        assert_eq!((kept, count), (vec!["arm-swap"], 2));
    }

    #[test]
    fn a_joint_that_was_lost_explains_the_calibration_of_its_neighbours() {
        use Severity::{Fail, Warn};
        let told = [
            ("tracking-loss", Some(1), Fail),
            ("gain-mismatch", Some(2), Fail),
            ("neutral-offset", Some(3), Warn),
            ("tracking-error", Some(4), Fail),
        ];
        let (kept, count) = left(&told);
        assert_eq!((kept.len(), count), (4, 0), "the session is judged first");
        let all: Vec<Finding> =
            told.iter().filter_map(|(id, joint, how)| finding(id, *joint, *how)).collect();
        let by: Vec<Option<JointId>> = all
            .iter()
            .map(|one| by_neighbour(one, &of_neighbours(&all)).and_then(|by| by.1))
            .collect();
        assert_eq!(by, [None, Some(1), Some(1), None]);
        let milder = finding("tracking-loss", Some(1), Warn);
        assert!(by_neighbour(&all[1], &of_neighbours(milder.as_slice())).is_none());
    }

    fn of_session(id: &str, joint: Option<JointId>, at: Option<Stretch>) -> Option<SessionFinding> {
        let Finding { check, metric, severity, joint, value, limit, .. } =
            finding(id, joint, Severity::Fail)?;
        let (read, episodes, of, at_limit, interval) = (9, 9, 9, false, None);
        let stretch = at;
        Some(SessionFinding {
            check,
            metric,
            severity,
            joint,
            value,
            interval,
            read,
            limit,
            at_limit,
            episodes,
            of,
            stretch,
            note: String::new(),
        })
    }

    #[test]
    fn a_session_suppresses_what_follows_where_its_cause_lies() {
        let half = Some(Stretch { first: 0.into(), last: 8.into() });
        let told = |cause, consequence| -> Vec<&str> {
            let mut all: Vec<SessionFinding> = [
                of_session("sign-flip", Some(1), cause),
                of_session("neutral-offset", Some(1), consequence),
                of_session("neutral-offset", Some(2), consequence),
            ]
            .into_iter()
            .flatten()
            .collect();
            suppress_session(&mut all);
            all.iter().map(|f| f.check.id).collect()
        };
        assert_eq!(told(None, None), ["sign-flip", "neutral-offset"]);
        assert_eq!(told(None, half), ["sign-flip", "neutral-offset"]);
        assert_eq!(told(half, half), ["sign-flip", "neutral-offset"]);
        assert_eq!(told(half, None).len(), 3);
        let follows_from = |joint| {
            let episode = finding("neutral-offset", Some(joint), Severity::Warn);
            let cause = of_session("sign-flip", Some(1), None);
            episode.zip(cause).is_some_and(|(episode, cause)| follows(&episode, &cause))
        };
        assert!(follows_from(1) && !follows_from(2));
    }

    #[test]
    fn the_way_of_an_arm_that_was_read_wrongly_is_not_odd_by_itself() {
        let odd = finding("path-outlier", None, Severity::Warn);
        let told: Vec<Finding> = ["limit-dwell", "tracking-lag"]
            .iter()
            .filter_map(|id| finding(id, Some(2), Severity::Warn))
            .collect();
        assert_eq!(told.len(), 2);
        let follows =
            |told: &[Finding]| odd.as_ref().map(|odd| cause_in_episode(odd, told).is_some());
        assert_eq!((follows(&told[..1]), follows(&told[1..])), (Some(true), Some(false)));
    }
}
