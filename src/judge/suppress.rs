//! A cause suppresses what follows from it: whoever reads the card should fix the cause, and the rest
//! goes with it. How many were suppressed is kept and shown.

use crate::catalogue::{Reach, SUPPRESSIONS};
use crate::model::{CheckSpec, Finding, JointId, SessionFinding, Severity, Stretch};

/// What the rules look at.
type Said = (&'static CheckSpec, Option<JointId>, Severity);

/// Takes the suppressed findings out of an episode's findings, and returns them. A finding that is worse than
/// its cause stays: nothing is made milder by this.
pub fn suppress(findings: &mut Vec<Finding>) -> Vec<Finding> {
    if findings.len() < 2 {
        return Vec::new();
    }
    let said = |f: &Finding| (f.check, f.joint, f.severity);
    let all: Vec<Said> = findings.iter().map(said).collect();
    findings.extract_if(.., |finding| has_cause(said(finding), &all)).collect()
}

/// The same for a session's findings: a cause that affects some of the episodes suppresses nothing
/// that affects others.
pub(super) fn suppress_session(findings: &mut Vec<SessionFinding>) {
    let said = |f: &SessionFinding| (f.check, f.joint, f.severity);
    let all: Vec<(Said, Option<Stretch>)> = findings.iter().map(|f| (said(f), f.stretch)).collect();
    findings.retain(|finding| {
        let causes =
            all.iter().filter(|(_, where_)| where_.is_none() || *where_ == finding.stretch);
        let causes: Vec<Said> = causes.map(|(cause, _)| *cause).collect();
        !has_cause(said(finding), &causes)
    });
}

/// Whether an episode's finding only follows from one of the session.
pub fn follows(finding: &Finding, cause: &SessionFinding) -> bool {
    let said = (finding.check, finding.joint, finding.severity);
    has_cause(said, &[(cause.check, cause.joint, cause.severity)])
}

/// Whether an episode's finding only follows from another one of it.
pub fn follows_in_episode(finding: &Finding, all: &[Finding]) -> bool {
    let said = |f: &Finding| (f.check, f.joint, f.severity);
    let all: Vec<Said> = all.iter().map(said).collect();
    has_cause(said(finding), &all)
}

fn has_cause((check, joint, severity): Said, all: &[Said]) -> bool {
    SUPPRESSIONS.iter().filter(|entry| entry.suppresses(check)).any(|entry| {
        all.iter().any(|cause| {
            entry.cause.spec.is(cause.0)
                && cause.2 >= severity
                && (entry.reach == Reach::All || cause.1 == joint)
        })
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
        let follows = |told: &[Finding]| odd.as_ref().map(|odd| follows_in_episode(odd, told));
        assert_eq!((follows(&told[..1]), follows(&told[1..])), (Some(true), Some(false)));
    }
}
