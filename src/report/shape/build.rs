//! From an outcome to its machine-readable shape.

use super::parts::{reading, suppressed, unassessed};
use super::values::{finite, joint};
use super::{
    AcceptedShape, BaselineShape, Columns, CountsShape, DimensionShape, Document, Elsewhere,
    EpisodeRow, Head, InputFile, JointShape, JsonDetail, ReadingShape, RequiredShape, RigShape,
    SessionFindingShape, SessionReadingShape, SessionShape, SkippedKind, SkippedShape, Tool,
    UnreadFile, VERSION,
};
use crate::model::{
    CardPlace, Dimension, JointId, MIN_STD, SessionFinding, SessionReading, Skipped, path_text,
};
use crate::num::interval::of_share;
use crate::report::View;
use crate::report::words::session_message;
use crate::source::Role;

impl<E: EpisodeRow> Document<Vec<E>> {
    /// The document with the episodes at these places.
    #[cfg(any(test, feature = "internals"))]
    pub fn with(view: &View<'_>, places: impl Iterator<Item = CardPlace>) -> Self {
        let episodes = places.map(|place| E::of(view, place)).collect();
        Self::of(view, E::DETAIL, episodes)
    }
}

impl Head {
    /// Everything but the episodes.
    pub fn without_episodes(view: &View<'_>, detail: JsonDetail) -> Self {
        Self::of(view, detail, Elsewhere)
    }
}

impl<L> Document<L> {
    /// The document with these episodes.
    fn of(view: &View<'_>, detail: JsonDetail, episodes: L) -> Self {
        let inputs = view.inputs.iter();
        let unread = |differs: bool| {
            let files = view.outcome.unread.iter().filter(|file| file.differs() == differs);
            let files = files.map(|file| UnreadFile {
                path: path_text(&file.path),
                reason: file.reason.clone(),
            });
            files.collect()
        };
        Self {
            schema: VERSION.to_owned(),
            detail,
            tool: Tool {
                name: env!("CARGO_PKG_NAME").to_owned(),
                version: env!("CARGO_PKG_VERSION").to_owned(),
            },
            inputs: inputs
                .map(|i| InputFile {
                    path: path_text(&i.path),
                    bytes: i.bytes,
                    rows: i.rows,
                    sha256: i.sha256.clone(),
                })
                .collect(),
            columns: columns(view),
            rig: rig(view),
            session: session(view),
            normalisation: normalisation(view),
            unread: unread(false),
            different_columns: unread(true),
            skipped: skipped(&view.outcome.skipped),
            episodes,
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
        suppressed_findings: session.explained.iter().map(|s| suppressed(view, s)).collect(),
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
            .map(|h| unassessed(view, (h.check.id, h.joint), &h.reason, Some(h.episodes)))
            .chain(session.left_out.iter().map(|left| {
                unassessed(view, (left.check.id, None), left.reason, Some(session.episodes))
            }))
            .collect(),
        baseline: view.outcome.known.as_ref().map(|known| BaselineShape {
            known: known.before,
            new: known.new,
            verdict: known.verdict,
        }),
        accepted: view.outcome.accepted.iter().map(AcceptedShape::of).collect(),
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

fn skipped(skipped: &Skipped) -> SkippedShape {
    let kinds = skipped.by_number().into_iter();
    let kind = |(ending, files): (&str, u64)| SkippedKind { ending: ending.to_owned(), files };
    SkippedShape {
        kinds: kinds.map(kind).collect(),
        own: skipped.own.iter().map(|file| path_text(&file.0)).collect(),
    }
}
