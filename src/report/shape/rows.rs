//! From cards to episodes of a report, in three sizes.

use schemars::JsonSchema;
use serde::Serialize;

use super::parts::{reading, suppressed, unassessed};
use super::values::{finite, joint};
use super::{
    EpisodeFindings, EpisodeShape, EpisodeSummary, FindingShape, JsonDetail, SourceShape, SpanShape,
};
use crate::model::{CardPlace, Finding, Scorecard, Severity, path_text};
use crate::report::View;
use crate::report::words::finding_message;

/// One episode of a report.
pub trait EpisodeRow: Serialize + JsonSchema {
    /// How much it holds.
    const DETAIL: JsonDetail;
    /// Its fields in order.
    const KEYS: &'static [&'static str];

    /// The card at a place.
    fn of(view: &View<'_>, place: CardPlace) -> Self;
}

impl EpisodeRow for EpisodeSummary {
    const DETAIL: JsonDetail = JsonDetail::Summary;
    const KEYS: &'static [&'static str] = &[
        "episode",
        "source",
        "task",
        "frames",
        "duration_s",
        "verdict",
        "usable",
        "failed",
        "warned",
    ];

    fn of(view: &View<'_>, place: CardPlace) -> Self {
        let card = view.card(place);
        let ids = |severity: Severity, but: &[String]| {
            let mut ids: Vec<String> = Vec::new();
            for finding in card.findings.iter().filter(|f| f.severity == severity) {
                let id = finding.check.id.to_owned();
                if !ids.contains(&id) && !but.contains(&id) {
                    ids.push(id);
                }
            }
            ids
        };
        let failed = ids(Severity::Fail, &[]);
        let warned = ids(Severity::Warn, &failed);
        Self {
            episode: card.key.id.clone(),
            source: source(view, card),
            task: task(card),
            frames: card.frames as u64,
            duration_s: finite(card.duration_s),
            verdict: card.verdict,
            usable: view.usable(place),
            failed,
            warned,
        }
    }
}

impl EpisodeRow for EpisodeFindings {
    const DETAIL: JsonDetail = JsonDetail::Findings;
    const KEYS: &'static [&'static str] = &[
        "episode",
        "source",
        "task",
        "frames",
        "duration_s",
        "verdict",
        "usable",
        "findings",
        "suppressed",
    ];

    fn of(view: &View<'_>, place: CardPlace) -> Self {
        let card = view.card(place);
        Self {
            episode: card.key.id.clone(),
            source: source(view, card),
            task: task(card),
            frames: card.frames as u64,
            duration_s: finite(card.duration_s),
            verdict: card.verdict,
            usable: view.usable(place),
            findings: findings(view, card),
            suppressed: card.suppressed.iter().map(|one| suppressed(view, one)).collect(),
        }
    }
}

impl EpisodeRow for EpisodeShape {
    const DETAIL: JsonDetail = JsonDetail::Full;
    const KEYS: &'static [&'static str] = &[
        "episode",
        "source",
        "task",
        "frames",
        "duration_s",
        "verdict",
        "usable",
        "readings",
        "findings",
        "suppressed",
        "not_assessed",
    ];

    fn of(view: &View<'_>, place: CardPlace) -> Self {
        let card = view.card(place);
        let EpisodeFindings {
            episode,
            source,
            task,
            frames,
            duration_s,
            verdict,
            usable,
            findings,
            suppressed,
        } = EpisodeFindings::of(view, place);
        let missing = card.not_assessed.iter();
        Self {
            episode,
            source,
            task,
            frames,
            duration_s,
            verdict,
            usable,
            readings: card.readings.iter().map(|r| reading(view, r)).collect(),
            findings,
            suppressed,
            not_assessed: missing
                .map(|one| unassessed(view, (one.check.id, one.joint), &one.reason, None))
                .collect(),
        }
    }
}

fn task(card: &Scorecard) -> Option<String> {
    card.key.task.as_deref().map(str::to_owned)
}

/// Where an episode was read from.
pub(in crate::report) fn source(view: &View<'_>, card: &Scorecard) -> SourceShape {
    let rows = card.key.rows;
    let input = view.inputs.get(rows.input as usize);
    SourceShape {
        path: input.map_or_else(String::new, |input| path_text(&input.path)),
        rows: [rows.start, rows.end],
    }
}

fn findings(view: &View<'_>, card: &Scorecard) -> Vec<FindingShape> {
    let all = card.findings.iter().enumerate();
    all.map(|(at, finding)| FindingShape {
        check: finding.check.id.to_owned(),
        metric: finding.metric.id.to_owned(),
        severity: finding.severity,
        joint: joint(view, finding.joint),
        value: finite(finding.value),
        limit: finite(finding.limit),
        unit: view.unit(finding.metric, finding.joint).to_owned(),
        spans: spans(card, at, finding),
        message: finding_message(finding, view.rig),
        remedy: finding.check.remedy.to_owned(),
        known: view.known(card, finding),
    })
    .collect()
}

/// The spans of a card's finding.
pub(in crate::report) fn spans(card: &Scorecard, at: usize, finding: &Finding) -> Vec<SpanShape> {
    let times = card.span_times_s.get(at);
    let time = |n: usize, end: usize| {
        times.and_then(|t| t.get(n)).map(|t| t[end]).filter(|t| t.is_finite())
    };
    let spans = finding.spans.as_slice().iter().enumerate();
    spans
        .map(|(n, span)| SpanShape {
            frames: [u64::from(span.start), u64::from(span.end)],
            time_s: [time(n, 0), time(n, 1)],
        })
        .collect()
}
