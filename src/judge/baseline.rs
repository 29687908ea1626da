//! What was there before: only what is new or worse than in an earlier measurements file counts.
//!
//! Episodes are found again by their content, because ids and order change when a session is cut or
//! sorted again; by id only where the content of one of the two is not known. A finding is known if
//! the same measurement of the same joint lay beyond its limit before, at the same severity or a
//! worse one, whether or not it was what the earlier card led with.

use std::collections::{BTreeMap, HashMap};

use super::limits::Limits;
use super::severity::severity;
use crate::model::{
    CheckSpec, Finding, JointId, Known, Metric, Reading, Scorecard, SessionFinding, Severity,
    Verdict,
};

/// A measurement that lay beyond its limit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Beyond {
    check: &'static str,
    metric: &'static str,
    joint: Option<JointId>,
    severity: Severity,
}

impl Beyond {
    fn covers(&self, finding: &Finding) -> bool {
        self.check == finding.check.id
            && self.metric == finding.metric.id
            && self.joint == finding.joint
            && self.severity >= finding.severity
    }
}

impl From<&Finding> for Beyond {
    fn from(finding: &Finding) -> Self {
        let Finding { check, metric, joint, severity, .. } = finding;
        Self { check: check.id, metric: metric.id, joint: *joint, severity: *severity }
    }
}

/// Every reading beyond its limit, also those that are not what a card leads with.
pub fn beyond(readings: &[Reading], limits: &Limits) -> Vec<Beyond> {
    let one = |reading: &Reading| {
        let Reading { check, metric, joint, value, .. } = *reading;
        let (check, metric): (&'static CheckSpec, &'static Metric) = (check, metric);
        let limit = limits.on(check, metric, joint);
        let (severity, _) = severity(check, metric.bound, limit, value)?;
        Some(Beyond { check: check.id, metric: metric.id, joint, severity })
    };
    readings.iter().filter_map(one).collect()
}

/// An episode of an earlier measurements file.
#[derive(Debug, Clone, Default)]
pub struct Past {
    /// Its id.
    pub id: String,
    /// Hash of its content, where it is known.
    pub content: Option<u64>,
    /// What lay beyond its limit.
    pub beyond: Vec<Beyond>,
}

/// An earlier measurements file, judged under the limits of now.
#[derive(Debug, Default)]
pub struct Baseline {
    episodes: Vec<Past>,
    by_content: HashMap<u64, Vec<usize>>,
    by_id: HashMap<String, usize>,
    session: Vec<(&'static str, Option<JointId>, Severity)>,
}

impl Baseline {
    /// Takes an earlier measurements file's episodes and what was found on its session.
    pub fn new(episodes: Vec<Past>, session: &[SessionFinding]) -> Self {
        let mut by_content: HashMap<u64, Vec<usize>> = HashMap::new();
        let mut by_id = HashMap::new();
        for (at, past) in episodes.iter().enumerate() {
            if let Some(content) = past.content {
                by_content.entry(content).or_default().push(at);
            }
            by_id.insert(past.id.clone(), at);
        }
        let session = session.iter().map(|f| (f.check.id, f.joint, f.severity)).collect();
        Self { episodes, by_content, by_id, session }
    }

    /// Holds a session against it. `contents` are the hashes of the cards' episodes, where known.
    pub fn known(
        &self,
        cards: &[Scorecard],
        contents: &[Option<u64>],
        session: &[SessionFinding],
    ) -> Known {
        let mut episodes = BTreeMap::new();
        let (mut known, mut new, mut verdict) = (0, 0, Verdict::Pass);
        let mut count = |was: bool, severity: Severity| {
            *(if was { &mut known } else { &mut new }) += 1;
            if !was {
                verdict = verdict.max(Verdict::from(severity));
            }
        };
        for (at, card) in cards.iter().enumerate().filter(|(_, card)| !card.findings.is_empty()) {
            let before = self.before(&card.key.id, contents.get(at).copied().flatten());
            let was =
                |f: &Finding| before.iter().any(|past| past.beyond.iter().any(|b| b.covers(f)));
            let all: Vec<bool> = card.findings.iter().map(was).collect();
            all.iter().zip(&card.findings).for_each(|(was, f)| count(*was, f.severity));
            episodes.insert(card.key.index, all);
        }
        let was = |f: &SessionFinding| {
            let same = |s: &(&str, Option<JointId>, Severity)| {
                s.0 == f.check.id && s.1 == f.joint && s.2 >= f.severity
            };
            self.session.iter().any(same)
        };
        let of_session: Vec<bool> = session.iter().map(was).collect();
        of_session.iter().zip(session).for_each(|(was, f)| count(*was, f.severity));
        Known { episodes, session: of_session, before: known, new, verdict }
    }

    /// The same episode in the earlier measurements file; several where it was recorded as copies.
    fn before(&self, id: &str, content: Option<u64>) -> Vec<&Past> {
        let same = content.and_then(|content| self.by_content.get(&content));
        if let Some(same) = same {
            return same.iter().map(|at| &self.episodes[*at]).collect();
        }
        let named = self.by_id.get(id).map(|at| &self.episodes[*at]);
        named.filter(|past| content.is_none() || past.content.is_none()).into_iter().collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::{EpisodeKey, Family, RowRange, SpanList, Unit};

    static SHARE: Metric =
        Metric::of_joint("share", Unit::Share, "a share").above(Some(0.1), Some(0.3));
    static SPEC: CheckSpec = CheckSpec {
        id: "sample",
        family: Family::Timing,
        applies_to: crate::model::SignalKind::ALL,
        needs: crate::model::Relation::Nothing,
        advisory: false,
        source: "",
        cause: "",
        remedy: "",
        reference: "",
        metrics: &[&SHARE],
        params: &[],
    };

    fn reading(joint: JointId, value: f64) -> Reading {
        let spans = SpanList::default();
        Reading { check: &SPEC, metric: &SHARE, joint: Some(joint), value, spans, note: None }
    }

    fn card(id: &str, index: u64, readings: &[Reading]) -> Scorecard {
        let findings = crate::judge::findings(readings, &Limits::default());
        Scorecard {
            key: EpisodeKey {
                id: id.to_owned(),
                index: index.into(),
                task: None,
                rows: RowRange { input: 0, start: 0, end: 1 },
                labels: Vec::new(),
            },
            frames: 1,
            start_s: 0.0,
            duration_s: 1.0,
            readings: Vec::new(),
            not_assessed: Vec::new(),
            verdict: Verdict::of(&findings),
            span_times_s: vec![Vec::new(); findings.len()],
            findings,
            suppressed: Vec::new(),
            trim: Vec::new(),
        }
    }

    fn past(id: &str, content: Option<u64>, readings: &[Reading]) -> Past {
        Past { id: id.to_owned(), content, beyond: beyond(readings, &Limits::default()) }
    }

    /// Known and new findings, and what the new ones come to.
    fn held(baseline: Vec<Past>, now: &Scorecard, content: Option<u64>) -> (u64, u64, Verdict) {
        let known = Baseline::new(baseline, &[]).known(std::slice::from_ref(now), &[content], &[]);
        (known.before, known.new, known.verdict)
    }

    #[test]
    fn what_was_as_bad_is_known_and_what_is_worse_or_elsewhere_is_new() {
        let bad = |joint, value| [reading(joint, value)];
        let before = || vec![past("a", Some(7), &bad(1, 0.2))];
        assert_eq!(held(before(), &card("a", 0, &bad(1, 0.25)), Some(7)), (1, 0, Verdict::Pass));
        assert_eq!(held(before(), &card("a", 0, &bad(1, 0.5)), Some(7)), (0, 1, Verdict::Fail));
        assert_eq!(held(before(), &card("a", 0, &bad(2, 0.2)), Some(7)), (0, 1, Verdict::Warn));
        let worse = vec![past("a", Some(7), &bad(1, 0.5))];
        assert_eq!(held(worse, &card("a", 0, &bad(1, 0.2)), Some(7)), (1, 0, Verdict::Pass));
    }

    #[test]
    fn an_episode_is_found_by_its_content_and_by_its_id_only_without_one() {
        let now = card("b", 3, &[reading(0, 0.9)]);
        let fail = || [reading(0, 0.9)];
        let found = |id, content| held(vec![past(id, content, &fail())], &now, Some(7)).0;
        assert_eq!(found("renamed", Some(7)), 1);
        assert_eq!(found("b", Some(8)), 0, "another recording under the same id");
        assert_eq!(found("b", None), 1);
        assert_eq!(held(vec![past("b", Some(7), &fail())], &now, None).0, 1);
        assert_eq!(found("c", None), 0);
    }

    #[test]
    fn findings_of_the_session_are_known_by_check_and_joint() {
        let one = |joint, severity| SessionFinding {
            check: &SPEC,
            metric: &SHARE,
            severity,
            joint: Some(joint),
            value: 0.5,
            interval: None,
            read: 2,
            limit: 0.3,
            at_limit: false,
            episodes: 2,
            of: 3,
            stretch: None,
            note: String::new(),
        };
        let baseline = Baseline::new(Vec::new(), &[one(1, Severity::Warn)]);
        let now = [one(1, Severity::Warn), one(1, Severity::Fail), one(2, Severity::Warn)];
        let known = baseline.known(&[], &[], &now);
        assert_eq!(known.session, [true, false, false]);
        assert_eq!((known.before, known.new, known.verdict), (1, 2, Verdict::Fail));
    }
}
