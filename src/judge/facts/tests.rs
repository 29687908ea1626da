//! Sessions whose lags are known: what is reported of the rig, of a joint, of an episode.

use super::*;
use crate::check::tracking::tracking_lag::{CHECK, LAG};
use crate::judge::session::{Tally, session};
use crate::model::{EpisodeKey, Ledger, Reading, Row, RowRange, Session, SpanList};

/// Lags in milliseconds of the joints of each episode.
fn judged(lags_ms: &[Vec<f64>]) -> (Session, Vec<Scorecard>) {
    let mut ledger = Ledger::default();
    let limits = Limits::default();
    let mut cards = Vec::new();
    for (index, lags_ms) in lags_ms.iter().enumerate() {
        let read = |(joint, ms): (usize, &f64)| Reading {
            check: CHECK.spec,
            metric: &LAG,
            joint: Some(joint as JointId),
            value: ms / 1e3,
            spans: SpanList::default(),
            note: None,
        };
        let readings: Vec<Reading> = lags_ms.iter().enumerate().map(read).collect();
        ledger.push(Row { frames: 300, ..Row::default() }, &readings);
        let findings = crate::judge::findings(&readings, &limits);
        cards.push(Scorecard {
            key: EpisodeKey {
                id: index.to_string(),
                index: (index as u64).into(),
                task: None,
                rows: RowRange { input: 0, start: 0, end: 1 },
                labels: Vec::new(),
            },
            frames: 300,
            start_s: 0.0,
            duration_s: 10.0,
            readings,
            not_assessed: Vec::new(),
            verdict: Verdict::of(&findings),
            span_times_s: vec![Vec::new(); findings.len()],
            findings,
            suppressed: Vec::new(),
            trim: Vec::new(),
        });
    }
    let session = session(&mut cards, Tally::default(), &ledger, &limits);
    (session, cards)
}

/// Twelve episodes of these joints, each a little off.
fn twelve(lags_ms: &[f64]) -> Vec<Vec<f64>> {
    let off = |row: usize, joint: usize| f64::from(((row * 5 + joint * 3) % 7) as u8) - 3.0;
    let one = |row| lags_ms.iter().enumerate().map(|(at, ms)| ms + off(row, at)).collect();
    (0..12).map(one).collect()
}

fn warned(cards: &[Scorecard]) -> usize {
    cards.iter().filter(|card| card.verdict == Verdict::Warn).count()
}

#[test]
fn a_lag_of_the_whole_rig_is_reported_once() {
    let (session, cards) = judged(&twelve(&[170.0, 172.0, 168.0, 175.0, 171.0, 169.0]));
    assert_eq!(warned(&cards), 0);
    assert_eq!(session.counts.pass, 12);
    let [finding] = &session.findings[..] else { return assert_eq!(session.findings.len(), 1) };
    assert_eq!((finding.severity, finding.joint), (Severity::Warn, None));
    assert!((finding.value - 0.1705).abs() < 0.002, "{}", finding.value);
    assert_eq!(finding.note, "all 6 joints alike");
    assert_eq!(session.verdict, Verdict::Warn);
    // Nothing is lost: each warning names what says it, and so does each joint of the session.
    for card in &cards {
        let moved = &card.suppressed;
        assert_eq!(moved.len(), card.readings.len());
        assert!(moved.iter().all(|s| s.why == Why::Session && s.by.is(finding.check)));
        assert_eq!(card.mute().count(), 0, "what the rig has is reported in its columns");
    }
    let mut joints: Vec<_> =
        session.explained.iter().map(|s| (s.joint, s.why, s.by_joint)).collect();
    joints.sort();
    assert_eq!(joints, (0..6).map(|j| (Some(j), Why::Alike, None)).collect::<Vec<_>>());
    assert_eq!(session.suppressed, 0);
    // Just below the limit, noise takes some joints of some episodes beyond it.
    let (session, cards) = judged(&twelve(&[149.0, 148.0, 148.5, 147.0]));
    assert_eq!((warned(&cards), session.findings.len()), (0, 0));
    let moved = cards.iter().flat_map(|card| &card.suppressed);
    assert!(moved.clone().count() > 0 && moved.clone().all(|s| s.why == Why::Usual));
}

#[test]
fn a_late_joint_is_named_in_its_own_right() {
    let (session, cards) = judged(&twelve(&[80.0, 82.0, 250.0, 81.0]));
    let named: Vec<_> = session.findings.iter().map(|f| (f.joint, f.severity)).collect();
    assert_eq!(named, [(Some(2), Severity::Warn)]);
    assert_eq!(warned(&cards), 12);
    // ... also where the others share a lag of the rig.
    let (session, cards) = judged(&twelve(&[170.0, 172.0, 250.0, 171.0]));
    let mut named: Vec<_> = session.findings.iter().map(|f| f.joint).collect();
    named.sort();
    assert_eq!(named, [None, Some(2)]);
    assert!(session.findings.iter().any(|f| f.note == "3 of 4 joints alike"));
    assert_eq!(warned(&cards), 12);
    assert!(cards.iter().all(|card| card.findings.len() == 1));
}

#[test]
fn a_late_episode_keeps_its_warning() {
    let mut lags = twelve(&[170.0, 172.0, 168.0, 175.0]);
    lags[4] = vec![250.0; 4];
    let (session, cards) = judged(&lags);
    assert_eq!(session.findings.len(), 1);
    let late: Vec<usize> = (0..12).filter(|at| cards[*at].verdict == Verdict::Warn).collect();
    assert_eq!(late, [4]);
}

#[test]
fn beyond_the_fail_limit_or_unsteady_it_stays_with_every_episode() {
    let (session, cards) = judged(&twelve(&[420.0, 425.0, 415.0, 421.0]));
    assert_eq!(session.counts.fail, 12);
    assert_eq!((session.verdict, cards[0].findings.len()), (Verdict::Fail, 4));
    assert!(session.findings.iter().all(|f| f.joint.is_some()));
    let unsteady = |row: usize| vec![if row.is_multiple_of(3) { 270.0 } else { 170.0 }; 4];
    let (_, cards) = judged(&(0..12).map(unsteady).collect::<Vec<_>>());
    assert_eq!(warned(&cards), 12);
}

/// A joint was lost in the first of three episodes, and its neighbour's offset is off there.
#[test]
fn what_the_session_reports_is_not_explained_by_a_neighbour() {
    use crate::check::tracking::{neutral_offset, tracking_loss};
    let finding = |check: &'static CheckSpec, joint: JointId| {
        let (metric, spans, note) = (check.metrics[0], SpanList::default(), String::new());
        let (severity, joint) = (Severity::Fail, Some(joint));
        Finding { check, metric, severity, joint, value: 1.0, limit: 0.5, spans, note }
    };
    let lost = || finding(tracking_loss::CHECK.spec, 0);
    let offset = || finding(neutral_offset::CHECK.spec, 1);
    let (session, mut cards) = judged(&[vec![80.0; 2], vec![80.0; 2], vec![80.0; 2]]);
    assert_eq!(session.findings.len(), 0);
    for (card, with_cause) in cards.iter_mut().zip([true, false, false]) {
        card.findings = if with_cause { vec![lost(), offset()] } else { vec![offset()] };
        card.span_times_s = vec![Vec::new(); card.findings.len()];
    }
    let left =
        |cards: &[Scorecard]| cards.iter().map(|card| card.findings.len()).collect::<Vec<_>>();
    let mut alone = cards.clone();
    fold_neighbours(&mut alone, &[]);
    assert_eq!(left(&alone), [1, 1, 1]);
    assert_eq!(alone[0].suppressed.len(), 1);
    assert!(alone[0].suppressed[0].by.is(tracking_loss::CHECK.spec));
    // All three have the offset: the session reports it, and nothing explains it away.
    let all = SessionFinding {
        check: neutral_offset::CHECK.spec,
        metric: neutral_offset::CHECK.spec.metrics[0],
        severity: Severity::Fail,
        joint: Some(1),
        value: 1.0,
        interval: None,
        read: 3,
        limit: 0.5,
        at_limit: false,
        episodes: 3,
        of: 3,
        stretch: None,
        note: String::new(),
    };
    fold_neighbours(&mut cards, &[all]);
    assert_eq!(left(&cards), [2, 1, 1]);
}
