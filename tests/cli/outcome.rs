//! Hand-built outcomes of a seedling nursery's arm: healthy, faulty, not assessable.

use std::path::PathBuf;
use std::sync::{Arc, OnceLock};

use teleassay::check::Check;
use teleassay::judge::{Digest, Limits};
use teleassay::model::{
    AngleUnit, CheckSpec, ClockStorage, Counts, EpisodeKey, Finding, FrameSpan, Joint, Ledger,
    Metric, NotAssessed, Outcome, Reading, Rig, RowRange, Scorecard, Session, SessionFinding,
    SessionNotAssessed, SessionReading, Severity, Skipped, SpanList, Stretch, Suppressed, Unread,
    Verdict, Why,
};
use teleassay::num::interval::Interval;
use teleassay::report::View;
use teleassay::source::{Input, Role, RoleChoice};

use super::specs::{
    ALL, DROPPED, DURATION, GAP, LAG, LAG_S, MEAN, OFFSET, OFFSET_RAD, RANGE, SHARE,
};

/// Everything a view borrows from.
pub struct Stage {
    pub outcome: Outcome,
    pub rig: Rig,
    pub roles: Vec<RoleChoice>,
    pub inputs: Vec<Input>,
    pub limits: Limits,
    /// Made when the first view is asked for.
    pub digest: OnceLock<Digest>,
}

impl Stage {
    pub fn view(&self) -> View<'_> {
        View {
            outcome: &self.outcome,
            digest: self.digest.get_or_init(|| Digest::of(&self.outcome, &self.limits, &ALL)),
            rig: &self.rig,
            roles: &self.roles,
            inputs: &self.inputs,
            limits: &self.limits,
            checks: &ALL,
            command: "teleassay audit nursery",
            trace: Some("teleassay trace nursery"),
            keep: Some("teleassay keep nursery --to nursery-clean"),
            width: 80,
        }
    }
}

pub fn rig() -> Rig {
    let mut joints: Vec<Joint> =
        ["waist", "shoulder", "elbow", "wrist_pitch", "wrist_roll", "jaw"].map(Joint::named).into();
    joints[0].lower = Some(-1.9);
    joints[0].upper = Some(1.9);
    joints[5].gripper = true;
    Rig {
        joints,
        rate_hz: Some(30.0),
        period_s: 1.0 / 30.0,
        clock: ClockStorage::Float { precision_bits: 53, scale_s: 1.0 },
        unit: AngleUnit::Radian,
        unit_declared: false,
        ..Rig::default()
    }
}

fn role(role: Role, column: &str, shape: &str, why: &str) -> RoleChoice {
    let columns = if column.is_empty() { vec![] } else { vec![column.to_owned()] };
    RoleChoice { role, columns, shape: shape.to_owned(), why: why.to_owned() }
}

pub fn roles() -> Vec<RoleChoice> {
    vec![
        role(Role::Episode, "run", "int64", "the name says \"run\""),
        role(Role::Time, "stamp", "float64, seconds", "the name says \"stamp\""),
        role(Role::State, "measured", "list of 6 x float32", "the name says \"measured\""),
        role(Role::Action, "leader", "list of 6 x float32", "the name says \"leader\""),
        role(Role::Task, "", "", "no column says \"task\""),
    ]
}

fn card(index: u64, readings: Vec<Reading>) -> Scorecard {
    let start = index * 420;
    let task: Arc<str> = if index.is_multiple_of(2) { "plug to pot" } else { "pot to tray" }.into();
    Scorecard {
        key: EpisodeKey {
            id: index.to_string(),
            index: index.into(),
            task: Some(task),
            rows: RowRange { input: 0, start, end: start + 420 },
            labels: Vec::new(),
        },
        frames: 420,
        start_s: 0.0,
        duration_s: 13.966,
        readings,
        not_assessed: vec![],
        findings: vec![],
        suppressed: vec![],
        trim: vec![],
        span_times_s: vec![],
        verdict: Verdict::Pass,
    }
}

fn reading(
    check: &'static CheckSpec,
    metric: &'static Metric,
    joint: Option<u16>,
    value: f64,
) -> Reading {
    Reading { check, metric, joint, value, spans: SpanList::default(), note: None }
}

fn healthy_readings() -> Vec<Reading> {
    let mut readings = vec![
        reading(&DROPPED, &SHARE, None, 0.0012),
        reading(&DROPPED, &GAP, None, 0.066),
        reading(&DURATION, &RANGE, None, 420.0),
        reading(&DURATION, &MEAN, None, 0.31),
    ];
    for joint in 0..5 {
        readings.push(reading(&LAG, &LAG_S, Some(joint), 0.07 + 0.002 * f64::from(joint)));
        readings.push(reading(&OFFSET, &OFFSET_RAD, Some(joint), 0.004));
    }
    readings
}

fn session_reading(check: &str, metric: &str, value: f64, note: Option<&str>) -> SessionReading {
    let check = teleassay::catalogue::find(check).map(Check::spec);
    let metric = |check: &'static CheckSpec| check.metrics.iter().find(|m| m.id == metric);
    let Some((check, metric)) = check.and_then(|check| Some((check, metric(check)?))) else {
        panic!("no such measurement")
    };
    let mut reading = reading(check, metric, None, value);
    reading.note = note.map(Into::into);
    SessionReading { reading, from: None, episodes: 24, of: 24 }
}

fn find(
    card: &mut Scorecard,
    check: &'static CheckSpec,
    metric: &'static Metric,
    joint: Option<u16>,
    (severity, value, limit): (Severity, f64, f64),
    spans: &[(usize, usize)],
) {
    card.readings.retain(|r| !r.is(check, metric, joint));
    card.readings.push(reading(check, metric, joint, value));
    let list = SpanList::longest(spans.iter().map(|&(a, b)| FrameSpan::new(a, b)));
    let time = |frame: u32| f64::from(frame) / 30.0;
    let times = list.as_slice().iter().map(|s| [time(s.start), time(s.end - 1)]).collect();
    card.span_times_s.push(times);
    card.findings.push(Finding {
        check,
        metric,
        severity,
        joint,
        value,
        limit,
        spans: list,
        note: String::new(),
    });
    card.verdict = Verdict::of(&card.findings);
}

fn stage(
    cards: Vec<Scorecard>,
    findings: Vec<SessionFinding>,
    not_assessed: Vec<SessionNotAssessed>,
) -> Stage {
    let of = |verdict| cards.iter().filter(|c| c.verdict == verdict).count() as u64;
    let counts =
        Counts { pass: of(Verdict::Pass), warn: of(Verdict::Warn), fail: of(Verdict::Fail) };
    let usable = cards.iter().filter(|c| c.verdict != Verdict::Fail).map(|c| c.duration_s).sum();
    let worst = cards.iter().map(|c| c.verdict);
    let verdict = worst.chain(findings.iter().map(|f| f.severity.into())).max();
    let session = Session {
        episodes: cards.len() as u64,
        frames: cards.iter().map(|c| c.frames as u64).sum(),
        duration_s: cards.iter().map(|c| c.duration_s).sum(),
        usable_s: usable,
        verdict: verdict.unwrap_or(Verdict::Pass),
        counts,
        findings,
        readings: vec![],
        suppressed: 0,
        explained: vec![],
        not_assessed,
        left_out: vec![],
    };
    let rows = cards.len() as u64 * 420;
    Stage {
        outcome: Outcome {
            session,
            contents: vec![None; cards.len()],
            cards,
            unread: vec![],
            skipped: Skipped::default(),
            ledger: Ledger::default(),
            normalisation: Vec::new(),
            accepted: Vec::new(),
            known: None,
            required: None,
        },
        rig: rig(),
        roles: roles(),
        inputs: vec![Input {
            path: "nursery/part-0.parquet".into(),
            bytes: 725_046,
            rows,
            sha256: None,
        }],
        limits: Limits::default(),
        digest: OnceLock::new(),
    }
}

/// 24 episodes with nothing beyond a limit.
pub fn healthy() -> Stage {
    stage((0..24).map(|i| card(i, healthy_readings())).collect(), vec![], vec![])
}

/// 24 episodes: an offset of the elbow in most, drops, lags, a gap, an unread file.
pub fn faulty() -> Stage {
    let mut cards: Vec<Scorecard> = (0..24).map(|i| card(i, healthy_readings())).collect();
    for card in &mut cards[..20] {
        find(card, &OFFSET, &OFFSET_RAD, Some(2), (Severity::Warn, 0.0733, 0.0349), &[]);
    }
    let (fail, warn) = (Severity::Fail, Severity::Warn);
    find(&mut cards[3], &DROPPED, &SHARE, None, (fail, 0.034, 0.03), &[(211, 213), (300, 304)]);
    find(&mut cards[3], &DROPPED, &GAP, None, (warn, 0.2, 0.1), &[(211, 213)]);
    find(&mut cards[7], &LAG, &LAG_S, Some(3), (fail, 0.611, 0.3), &[(246, 302)]);
    find(&mut cards[21], &DURATION, &RANGE, None, (warn, 24.0, 30.0), &[]);
    for card in &mut cards {
        card.findings.sort_by_key(|f| std::cmp::Reverse(f.severity));
    }
    // The sort above must not part findings from their times.
    cards[3].span_times_s = cards[3].findings.iter().map(times).collect();
    cards[7].span_times_s = cards[7].findings.iter().map(times).collect();
    cards[7].suppressed.push(Suppressed {
        check: &OFFSET,
        metric: &OFFSET_RAD,
        joint: Some(3),
        severity: Severity::Warn,
        value: 0.04,
        why: Why::Follows,
        by: &LAG,
        by_joint: Some(3),
    });
    let reason = "moved 3.1\u{b0}, needs 10\u{b0}";
    cards[5].not_assessed.push(NotAssessed { check: &LAG, joint: Some(4), reason: reason.into() });
    let systemic = SessionFinding {
        check: &OFFSET,
        metric: &OFFSET_RAD,
        severity: Severity::Warn,
        joint: Some(2),
        value: 0.0733,
        interval: Some(Interval { low: 0.0681, high: 0.0785, confidence: 0.9586 }),
        read: 20,
        limit: 0.0349,
        at_limit: false,
        episodes: 20,
        of: 24,
        stretch: Some(Stretch { first: 0.into(), last: 19.into() }),
        note: String::new(),
    };
    let hole =
        SessionNotAssessed { check: &LAG, joint: Some(4), reason: reason.to_owned(), episodes: 12 };
    let mut stage = stage(cards, vec![systemic], vec![hole]);
    let ways = "demonstrations fall into 2 groups, of 18 and 6 episodes";
    stage.outcome.session.readings = vec![
        session_reading("path-outlier", "path_groups", 2.0, Some(ways)),
        session_reading("coverage", "start_spread", 0.014, Some("starts in one pose (0.8 deg)")),
        session_reading("coverage", "start_rank", 0.0, None),
        session_reading("coverage", "end_spread", 0.2, Some("ends vary by 11.5 deg")),
        // What is judged is reported by its finding alone.
        session_reading("mixed-speeds", "pace_ratio", 1.0, Some("40 and 41 deg/s")),
    ];
    stage.outcome.session.suppressed = 1;
    stage.outcome.unread.push(Unread::new(
        PathBuf::from("nursery/part-9.parquet"),
        "footer truncated at byte 1024; copy the file again".to_owned(),
    ));
    stage
}

/// 24 episodes: an elbow whose horn slipped before episode 14, and a lag that is at its limit.
pub fn rig_to_fix() -> Stage {
    let mut cards: Vec<Scorecard> = (0..24).map(|i| card(i, healthy_readings())).collect();
    let (fail, warn) = (Severity::Fail, Severity::Warn);
    for (n, card) in cards.iter_mut().enumerate() {
        if n >= 14 {
            find(card, &OFFSET, &OFFSET_RAD, Some(2), (fail, 0.251, 0.0873), &[]);
        }
        if n % 2 == 0 {
            find(card, &LAG, &LAG_S, Some(1), (warn, 0.157, 0.15), &[]);
        }
    }
    let offset = SessionFinding {
        check: &OFFSET,
        metric: &OFFSET_RAD,
        severity: fail,
        joint: Some(2),
        value: 0.251,
        interval: Some(Interval { low: 0.2482, high: 0.2534, confidence: 0.9785 }),
        read: 10,
        limit: 0.0873,
        at_limit: false,
        episodes: 10,
        of: 24,
        stretch: Some(Stretch { first: 14.into(), last: 23.into() }),
        note: String::new(),
    };
    let lag = SessionFinding {
        check: &LAG,
        metric: &LAG_S,
        severity: warn,
        joint: Some(1),
        value: 0.153,
        interval: Some(Interval { low: 0.144, high: 0.157, confidence: 0.875 }),
        read: 4,
        limit: 0.15,
        at_limit: true,
        episodes: 2,
        of: 4,
        stretch: None,
        note: String::new(),
    };
    stage(cards, vec![offset, lag], vec![])
}

fn times(finding: &Finding) -> Vec<[f64; 2]> {
    let time = |frame: u32| f64::from(frame) / 30.0;
    finding.spans.as_slice().iter().map(|s| [time(s.start), time(s.end - 1)]).collect()
}

/// 3 episodes of which nothing about timing and tracking can be said.
pub fn not_assessable() -> Stage {
    let why = [
        (&DROPPED, "stamps were made from the frame index, so they say nothing of the clock"),
        (&LAG, "the action is a delta, not a position"),
        (&OFFSET, "the action is a delta, not a position"),
        (&DURATION, "3 episodes are too few to compare"),
    ];
    let cards = (0..3).map(|i| {
        let mut card = card(i, vec![]);
        for (check, reason) in why {
            card.not_assessed.push(NotAssessed { check, joint: None, reason: reason.into() });
        }
        card
    });
    let hole = |&(check, reason): &(&'static CheckSpec, &str)| SessionNotAssessed {
        check,
        joint: None,
        reason: reason.to_owned(),
        episodes: 3,
    };
    stage(cards.collect(), vec![], why.iter().map(hole).collect())
}
