//! One episode through all checks.

use std::panic::{AssertUnwindSafe, catch_unwind};

use super::plan::Plan;
use crate::check::{Check, Params, Parts, Studies, settings};
use crate::judge;
use crate::model::{
    Episode, EpisodeKey, Finding, NotAssessed, Reading, Scorecard, Sheet, SpanList, Suppressed,
    Trim, Verdict, Why,
};

/// Measures and judges one episode. The card keeps its readings and what was not assessed: whoever
/// gathers cards takes what the ledger needs and drops the rest.
pub fn card(episode: &Episode, plan: &Plan) -> Scorecard {
    // Room for what most checks write about an arm: growing would copy it over and over.
    let (mut readings, mut not_assessed) = (Vec::with_capacity(6 * plan.checks.len()), Vec::new());
    let parts = Parts::of(episode, &plan.checks);
    let studies = parts.studies(episode, settings(&plan.params));
    for check in plan.checks.iter().filter(|check| check.left_out(&episode.rig).is_none()) {
        let (read, missed) = guarded(check, &studies, &plan.params);
        readings.extend(read);
        not_assessed.extend(missed);
    }
    let measured = Measured {
        key: episode.key.clone(),
        frames: episode.frames(),
        start_s: start_s(episode),
        duration_s: episode.duration_s(),
        readings,
        not_assessed,
    };
    judged(measured, plan, &mut |finding| times(episode, &finding.spans))
}

/// An episode that is measured and not judged.
pub struct Measured {
    pub key: EpisodeKey,
    pub frames: usize,
    pub start_s: f64,
    pub duration_s: f64,
    pub readings: Vec<Reading>,
    pub not_assessed: Vec<NotAssessed>,
}

/// Judges one episode. `evidence` gives the times of a finding's spans, and its spans and note
/// where the readings come without.
pub fn judged(
    measured: Measured,
    plan: &Plan,
    evidence: &mut dyn FnMut(&mut Finding) -> Vec<[f64; 2]>,
) -> Scorecard {
    let Measured { key, frames, start_s, duration_s, readings, not_assessed } = measured;
    let trim = trims(&readings, plan, evidence);
    let mut findings = judge::findings(&readings, &plan.limits);
    let suppressed = judge::suppress(&mut findings);
    let span_times_s = findings.iter_mut().map(evidence).collect();
    let verdict = Verdict::of(&findings);
    Scorecard {
        key,
        frames,
        start_s,
        duration_s,
        readings,
        not_assessed,
        findings,
        suppressed,
        span_times_s,
        trim,
        verdict,
    }
}

/// What can be left out at the begin and the end. Of a check a card has one finding, the worst; both
/// ends are wanted here.
fn trims(
    readings: &[Reading],
    plan: &Plan,
    evidence: &mut dyn FnMut(&mut Finding) -> Vec<[f64; 2]>,
) -> Vec<Trim> {
    let mut trims = Vec::new();
    for reading in readings.iter().filter(|reading| reading.metric.trims()) {
        for mut finding in judge::findings(std::slice::from_ref(reading), &plan.limits) {
            let times = evidence(&mut finding);
            let spans = finding.spans.as_slice().iter().zip(times);
            trims.extend(spans.filter_map(|(still, time_s)| Trim::of(*still, time_s)));
        }
    }
    trims
}

/// Times of the spans of all readings, for a card that is stored.
pub fn all_times(episode: &Episode, card: &Scorecard) -> Vec<Vec<[f64; 2]>> {
    card.readings.iter().map(|reading| times(episode, &reading.spans)).collect()
}

/// After a fault in a check the card says that it was not assessed, and the run goes on.
fn guarded(
    check: &Check,
    studies: &Studies<'_>,
    params: &Params,
) -> (Vec<Reading>, Vec<NotAssessed>) {
    let measured = catch_unwind(AssertUnwindSafe(|| {
        let mut sheet = Sheet::new(check.spec());
        studies.measure(check, params, &mut sheet);
        let (mut readings, not_assessed) = sheet.into_parts();
        // Joint by joint or metric by metric as the check likes: here in the order of its metrics,
        // the same as in a measurements file.
        let metrics = check.spec().metrics;
        let place = |reading: &Reading| {
            let metric = metrics.iter().position(|metric| metric.is(reading.metric));
            (metric, reading.joint)
        };
        if !readings.is_sorted_by_key(place) {
            readings.sort_by_cached_key(place);
        }
        (readings, not_assessed)
    }));
    measured.unwrap_or_else(|thrown| {
        let said = thrown.downcast_ref::<String>().map(String::as_str);
        let said = said.or_else(|| thrown.downcast_ref::<&str>().copied()).unwrap_or("no message");
        let said = said.lines().next().unwrap_or_default();
        let reason =
            format!("internal fault in this check ({said}): please report it with the episode");
        (Vec::new(), vec![NotAssessed { check: check.spec(), joint: None, reason: reason.into() }])
    })
}

fn start_s(episode: &Episode) -> f64 {
    episode.time_s.iter().copied().find(|t| t.is_finite()).unwrap_or(0.0)
}

/// Time of each span's first and last frame, in seconds from the episode's first stamp; a frame
/// without a stamp takes that of the nearest earlier one.
fn times(episode: &Episode, spans: &SpanList) -> Vec<[f64; 2]> {
    let start_s = start_s(episode);
    let at = |frame: usize| {
        let upto = &episode.time_s[..=frame.min(episode.frames().saturating_sub(1))];
        upto.iter().rev().copied().find(|t| t.is_finite()).unwrap_or(start_s) - start_s
    };
    let ends = |first: u32, end: u32| [at(first as usize), at((end as usize).saturating_sub(1))];
    spans.as_slice().iter().map(|span| ends(span.start, span.end)).collect()
}

/// A finding of a cohort check, put in its place on a finished card; one that only follows from
/// another is suppressed, and so are those that only follow from it.
pub fn add(card: &mut Scorecard, finding: Finding) {
    if let Some(by) = judge::cause_in_episode(&finding, &card.findings) {
        card.suppressed.push(Suppressed::new(&finding, Why::Follows, by));
        return;
    }
    let cause = std::slice::from_ref(&finding);
    for at in (0..card.findings.len()).rev() {
        if let Some(by) = judge::cause_in_episode(&card.findings[at], cause) {
            let gone = card.findings.remove(at);
            card.span_times_s.remove(at);
            // What followed from it follows from its cause.
            for other in &mut card.suppressed {
                if other.by.is(gone.check) && other.by_joint == gone.joint {
                    (other.by, other.by_joint) = by;
                }
            }
            card.suppressed.push(Suppressed::new(&gone, Why::Follows, by));
        }
    }
    let at = card.findings.partition_point(|f| f.severity >= finding.severity);
    // Most cards get one and no more: room for four, as a list takes by itself, is felt in a
    // session of tens of thousands.
    card.findings.reserve_exact(1);
    card.findings.insert(at, finding);
    card.span_times_s.reserve_exact(1);
    card.span_times_s.insert(at, Vec::new());
    card.verdict = Verdict::of(&card.findings);
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::{CheckSpec, Family, Metric, Unit};

    static READ: Metric = Metric::of_episode("read", Unit::Count, "one");
    static SPEC: CheckSpec = CheckSpec {
        id: "faulty",
        family: Family::Signal,
        applies_to: crate::model::SignalKind::ALL,
        needs: crate::model::Relation::Nothing,
        advisory: false,
        source: "",
        cause: "",
        remedy: "",
        reference: "",
        metrics: &[&READ],
        params: &[],
    };

    static FAULTY: Check = Check::of_episode(&SPEC, |study, _, sheet| {
        sheet.put(&READ, 1.0);
        assert!(study.episode.frames() > 5, "planted fault");
    });

    #[test]
    fn a_cause_that_the_cohort_knows_suppresses_what_was_found_before() {
        use crate::catalogue::find;
        use crate::model::{EpisodeKey, RowRange, Severity};
        let finding = |id: &str, joint: Option<u16>| {
            let check = find(id).map_or(&SPEC, Check::spec);
            let (metric, severity, note) = (check.metrics[0], Severity::Fail, String::new());
            let spans = SpanList::default();
            Finding { check, metric, severity, joint, value: 2.0, limit: 1.0, spans, note }
        };
        let rows = RowRange { input: 0, start: 0, end: 2 };
        let measured = Measured {
            key: EpisodeKey {
                id: "x".into(),
                index: 0.into(),
                task: None,
                rows,
                labels: Vec::new(),
            },
            frames: 2,
            start_s: 0.0,
            duration_s: 0.1,
            readings: Vec::new(),
            not_assessed: Vec::new(),
        };
        let mut card = judged(measured, &Plan::default(), &mut |_| Vec::new());
        for (id, joint) in [("gain-mismatch", 0), ("gain-mismatch", 1), ("spikes", 0)] {
            add(&mut card, finding(id, Some(joint)));
        }
        add(&mut card, finding("contact-outlier", Some(0)));
        let left: Vec<_> = card.findings.iter().map(|f| (f.check.id, f.joint)).collect();
        let kept = [("gain-mismatch", Some(1)), ("spikes", Some(0)), ("contact-outlier", Some(0))];
        assert_eq!(left, kept);
        assert_eq!((card.span_times_s.len(), card.suppressed.len()), (3, 1));
    }

    #[test]
    fn a_check_that_panics_is_not_assessed_and_its_readings_are_dropped() {
        use crate::model::{AngleUnit, Channels, ClockStorage, EpisodeKey, Extras, Rig, RowRange};
        let rig = Rig {
            joints: Vec::new(),
            rate_hz: None,
            period_s: 0.1,
            clock: ClockStorage::None,
            unit: AngleUnit::Radian,
            unit_declared: false,
            ..Rig::default()
        };
        let rows = RowRange { input: 0, start: 0, end: 2 };
        let episode = Episode {
            key: EpisodeKey {
                id: "x".into(),
                index: 0.into(),
                task: None,
                rows,
                labels: Vec::new(),
            },
            rig: std::sync::Arc::new(rig),
            time_s: vec![0.0, 0.1],
            state: Channels::new(Vec::new(), 2, 0),
            action: None,
            ragged_rows: 0,
            extras: Extras::default(),
        };
        let plan = Plan { checks: vec![&FAULTY], ..Plan::default() };
        let card = card(&episode, &plan);
        assert!(card.readings.is_empty());
        assert!(
            card.not_assessed[0].reason.starts_with("internal fault in this check (planted fault)")
        );
    }
}
