//! From an outcome to its machine-readable shape.

use super::values::{finite, joint};
use super::{
    BaselineShape, Columns, CountsShape, DimensionShape, Document, EpisodeShape, FindingShape,
    Head, InputFile, JointShape, NotAssessedShape, ReadingShape, RequiredShape, RigShape,
    SessionFindingShape, SessionReadingShape, SessionShape, SourceShape, SpanShape,
    SuppressedShape, Tool, UnreadFile, VERSION,
};
use crate::model::{
    CardPlace, Dimension, Finding, JointId, MIN_STD, Reading, Scorecard, SessionFinding,
    SessionReading,
};
use crate::num::interval::of_share;
use crate::report::View;
use crate::report::words::{finding_message, session_message};
use crate::source::Role;

impl Document {
    /// The whole document.
    pub fn of(view: &View<'_>) -> Self {
        Self::with(view, view.outcome.cards.iter())
    }

    /// The document with some of the episodes only.
    pub fn with<'a>(view: &View<'_>, cards: impl Iterator<Item = &'a Scorecard>) -> Self {
        let Head { schema, tool, inputs, columns, rig, session, normalisation, unread } =
            Head::of(view);
        let episodes = cards.map(|card| EpisodeShape::of(view, card)).collect();
        Self { schema, tool, inputs, columns, rig, session, normalisation, episodes, unread }
    }
}

impl Head {
    /// Everything but the episodes.
    pub fn of(view: &View<'_>) -> Self {
        let path = |path: &std::path::Path| path.display().to_string();
        let inputs = view.inputs.iter();
        let unread = view.outcome.unread.iter();
        Self {
            schema: VERSION.to_owned(),
            tool: Tool {
                name: env!("CARGO_PKG_NAME").to_owned(),
                version: env!("CARGO_PKG_VERSION").to_owned(),
            },
            inputs: inputs
                .map(|i| InputFile {
                    path: path(&i.path),
                    bytes: i.bytes,
                    rows: i.rows,
                    sha256: i.sha256.clone(),
                })
                .collect(),
            columns: columns(view),
            rig: rig(view),
            session: session(view),
            normalisation: normalisation(view),
            unread: unread
                .map(|u| UnreadFile { path: path(&u.path), reason: u.reason.clone() })
                .collect(),
        }
    }
}

impl EpisodeShape {
    /// One episode.
    pub fn of(view: &View<'_>, card: &Scorecard) -> Self {
        let rows = card.key.rows;
        let input = view.inputs.get(rows.input as usize);
        let not_assessed = card.not_assessed.iter();
        Self {
            episode: card.key.id.clone(),
            source: SourceShape {
                path: input.map_or_else(String::new, |i| i.path.display().to_string()),
                rows: [rows.start, rows.end],
            },
            frames: card.frames as u64,
            duration_s: finite(card.duration_s),
            verdict: card.verdict,
            readings: card.readings.iter().map(|r| reading(view, r)).collect(),
            findings: card
                .findings
                .iter()
                .enumerate()
                .map(|(at, f)| finding(view, card, at, f))
                .collect(),
            suppressed: card
                .suppressed
                .iter()
                .map(|(check, at)| SuppressedShape {
                    check: check.id.to_owned(),
                    joint: joint(view, *at),
                })
                .collect(),
            not_assessed: not_assessed
                .map(|h| unassessed(view, h.check.id, h.joint, &h.reason))
                .collect(),
        }
    }
}

fn columns(view: &View<'_>) -> Columns {
    let of = |role: Role| {
        view.roles.iter().find(|r| r.role == role).map_or_else(Vec::new, |r| r.columns.clone())
    };
    let mut how: Vec<String> = Vec::new();
    for role in view.roles.iter().filter(|role| !role.columns.is_empty()) {
        let text = format!("{}: {}", role.role, role.why);
        if !how.contains(&text) {
            how.push(text);
        }
    }
    Columns {
        episode: of(Role::Episode).into_iter().next(),
        time: of(Role::Time).into_iter().next(),
        state: of(Role::State),
        action: of(Role::Action),
        how: how.join("; "),
    }
}

fn rig(view: &View<'_>) -> RigShape {
    let joints = view.rig.joints.iter();
    let finite = |value: Option<f64>| value.filter(|v| v.is_finite());
    RigShape {
        rate_hz: finite(view.rig.rate_hz),
        unit: view.rig.unit.name().to_owned(),
        joints: joints
            .map(|j| JointShape {
                name: j.name.clone(),
                lower: finite(j.lower),
                upper: finite(j.upper),
                gripper: j.gripper,
                kind: j.kind().word().to_owned(),
            })
            .collect(),
        notices: view.rig.notices.clone(),
    }
}

fn normalisation(view: &View<'_>) -> Vec<DimensionShape> {
    let shape = |d: &Dimension| DimensionShape {
        vector: if d.leader { "action" } else { "state" }.to_owned(),
        joint: view.rig.joint_name(d.joint as JointId).to_owned(),
        mean: finite(d.mean),
        std: finite(d.std),
        min: finite(d.min),
        max: finite(d.max),
        quantile_01: finite(d.low),
        quantile_99: finite(d.high),
        warning: d.warning(MIN_STD).map(str::to_owned),
    };
    view.outcome.normalisation.iter().map(shape).collect()
}

fn session(view: &View<'_>) -> SessionShape {
    let session = &view.outcome.session;
    let not_assessed = session.not_assessed.iter();
    SessionShape {
        episodes: session.episodes,
        frames: session.frames,
        duration_s: finite(session.duration_s),
        usable_s: finite(session.usable_s),
        verdict: session.verdict,
        counts: CountsShape {
            pass: session.counts.pass,
            warn: session.counts.warn,
            fail: session.counts.fail,
        },
        failed_share: share(session.counts.fail, session.episodes),
        suppressed: session.suppressed,
        findings: session
            .findings
            .iter()
            .enumerate()
            .map(|(at, f)| session_finding(view, at, f))
            .collect(),
        plan: super::plan_build::plan(view),
        breakdowns: super::breakdown::breakdowns(view),
        readings: session.readings.iter().map(|r| session_reading(view, r)).collect(),
        not_assessed: not_assessed
            .map(|h| unassessed(view, h.check.id, h.joint, &h.reason))
            .chain(session.left_out.iter().map(|l| unassessed(view, l.check.id, None, l.reason)))
            .collect(),
        baseline: view.outcome.known.as_ref().map(|known| BaselineShape {
            known: known.before,
            new: known.new,
            verdict: known.verdict,
        }),
        required: view.outcome.required.as_ref().map(RequiredShape::of),
    }
}

fn share(some: u64, all: u64) -> Option<[f64; 2]> {
    of_share(some, all, 0.95).map(|share| [finite(share.low), finite(share.high)])
}

fn session_finding(view: &View<'_>, at: usize, finding: &SessionFinding) -> SessionFindingShape {
    let cards = &view.outcome.cards;
    let id =
        |at: CardPlace| cards.get(at.get()).map_or_else(String::new, |card| card.key.id.clone());
    SessionFindingShape {
        check: finding.check.id.to_owned(),
        metric: finding.metric.id.to_owned(),
        severity: finding.severity,
        joint: joint(view, finding.joint),
        value: finite(finding.value),
        interval: finding.interval.map(|i| [finite(i.low), finite(i.high)]),
        confidence: finding.interval.map(|i| finite(i.confidence)),
        read: finding.read,
        limit: finite(finding.limit),
        at_limit: finding.at_limit,
        unit: view.unit(finding.metric, finding.joint).to_owned(),
        episodes: finding.episodes,
        of: finding.of,
        share: share(finding.episodes, finding.of),
        stretch: finding.stretch.map(|s| [id(s.first), id(s.last)]),
        message: session_message(finding, cards, view.rig),
        remedy: finding.check.remedy.to_owned(),
        recovery: finding.metric.recovery.map(str::to_owned),
        known: view.known_of_session(at),
    }
}

fn session_reading(view: &View<'_>, read: &SessionReading) -> SessionReadingShape {
    let ReadingShape { check, metric, joint, value, unit } = reading(view, &read.reading);
    let note = read.reading.note.as_deref().map(str::to_owned);
    let (episodes, of) = (read.episodes, read.of);
    SessionReadingShape { check, metric, joint, value, unit, episodes, of, note }
}

fn unassessed(view: &View<'_>, check: &str, at: Option<JointId>, reason: &str) -> NotAssessedShape {
    NotAssessedShape { check: check.to_owned(), joint: joint(view, at), reason: reason.to_owned() }
}

fn reading(view: &View<'_>, reading: &Reading) -> ReadingShape {
    ReadingShape {
        check: reading.check.id.to_owned(),
        metric: reading.metric.id.to_owned(),
        joint: joint(view, reading.joint),
        value: finite(reading.value),
        unit: view.unit(reading.metric, reading.joint).to_owned(),
    }
}

fn finding(view: &View<'_>, card: &Scorecard, at: usize, finding: &Finding) -> FindingShape {
    let times = card.span_times_s.get(at);
    let time = |n: usize, end: usize| {
        times.and_then(|t| t.get(n)).map(|t| t[end]).filter(|t| t.is_finite())
    };
    let spans = finding.spans.as_slice().iter().enumerate();
    FindingShape {
        check: finding.check.id.to_owned(),
        metric: finding.metric.id.to_owned(),
        severity: finding.severity,
        joint: joint(view, finding.joint),
        value: finite(finding.value),
        limit: finite(finding.limit),
        unit: view.unit(finding.metric, finding.joint).to_owned(),
        spans: spans
            .map(|(n, span)| SpanShape {
                frames: [u64::from(span.start), u64::from(span.end)],
                time_s: [time(n, 0), time(n, 1)],
            })
            .collect(),
        message: finding_message(finding, view.rig),
        remedy: finding.check.remedy.to_owned(),
        known: view.known(card, finding),
    }
}
