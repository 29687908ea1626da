//! Where a number meets a limit.

use super::limits::Limits;
use super::worst::worse;
use crate::model::{Bound, CheckSpec, Finding, Limit, Reading, Severity};

/// Whether a value lies past a limit, both taken at single precision.
///
/// Cards hold readings at double precision, the ledger at single: a reading at its limit must be
/// within it wherever it is read, and what differs less than that is nobody's trouble.
pub(super) fn is_past(bound: Bound, limit: f64, value: f64) -> bool {
    let (limit, value) = (limit as f32, value as f32);
    match bound {
        Bound::Above(_) => value > limit,
        Bound::Below(_) => value < limit,
        Bound::Unjudged => false,
    }
}

/// Holds one reading against its limit.
pub fn severity(
    check: &CheckSpec,
    bound: Bound,
    limit: Limit,
    value: f64,
) -> Option<(Severity, f64)> {
    let past = |threshold: &f64| is_past(bound, *threshold, value);
    let found = by_limits(check, limit.fail.filter(past), limit.warn.filter(past));
    // What a person ruled for a check goes before what it says itself, advisory or not.
    found.map(|(severity, limit_passed)| (limit.ruling.unwrap_or(severity), limit_passed))
}

fn by_limits(check: &CheckSpec, fail: Option<f64>, warn: Option<f64>) -> Option<(Severity, f64)> {
    match (fail, warn) {
        // An advisory check reports at its fail limit as well, but never above warn.
        (Some(fail), _) if !check.advisory => Some((Severity::Fail, fail)),
        (_, Some(warn)) => Some((Severity::Warn, warn)),
        (Some(fail), None) => Some((Severity::Warn, fail)),
        (None, None) => None,
    }
}

/// Minimum and maximum of the values of a measurement that are within its limits.
pub fn quiet(bound: Bound, limit: Limit) -> (f64, f64) {
    let limits = || limit.fail.into_iter().chain(limit.warn);
    match bound {
        Bound::Above(_) => (f64::NEG_INFINITY, limits().fold(f64::INFINITY, f64::min)),
        Bound::Below(_) => (limits().fold(f64::NEG_INFINITY, f64::max), f64::INFINITY),
        Bound::Unjudged => (f64::NEG_INFINITY, f64::INFINITY),
    }
}

/// The findings among an episode's readings, worst first: for each check and joint only the
/// measurement that lies farthest beyond its limit, so that one cause is one line.
pub fn findings(readings: &[Reading], limits: &Limits) -> Vec<Finding> {
    let mut found: Vec<Finding> = Vec::new();
    let of = |f: &Finding| (f.metric.bound, f.value, f.limit);
    for reading in readings {
        let limit = limits.on(reading.check, reading.metric, reading.joint);
        let Some((severity, limit)) =
            severity(reading.check, reading.metric.bound, limit, reading.value)
        else {
            continue;
        };
        let finding = Finding {
            check: reading.check,
            metric: reading.metric,
            severity,
            joint: reading.joint,
            value: reading.value,
            limit,
            spans: reading.spans.clone(),
            note: reading.note.as_deref().unwrap_or_default().to_owned(),
        };
        let same = |f: &&mut Finding| f.check.is(finding.check) && f.joint == finding.joint;
        match found.iter_mut().find(same) {
            Some(kept) => {
                let by_scale = || worse(of(kept), of(&finding));
                if kept.severity.cmp(&severity).then_with(by_scale).is_lt() {
                    *kept = finding;
                }
            }
            None => found.push(finding),
        }
    }
    // Stable: what is equally bad stays in the order of the checks.
    found.sort_by(|a, b| b.severity.cmp(&a.severity).then_with(|| worse(of(b), of(a))));
    found
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use super::*;
    use crate::catalogue::of_episodes;
    use crate::model::{Family, Metric, SpanList, Unit};

    static SHARE: Metric =
        Metric::of_episode("share", Unit::Share, "a share").above(Some(0.1), Some(0.3));
    static GAP: Metric = Metric::of_episode("gap", Unit::Second, "a gap").above(None, Some(0.25));
    static COUNTS: Metric =
        Metric::of_joint("counts", Unit::Count, "counts").below(None, Some(3.0));
    static HARD: CheckSpec = spec(false);
    static SOFT: CheckSpec = spec(true);

    const fn spec(advisory: bool) -> CheckSpec {
        CheckSpec {
            id: "sample",
            family: Family::Timing,
            applies_to: crate::model::SignalKind::ALL,
            needs: crate::model::Relation::Nothing,
            advisory,
            source: "",
            cause: "",
            remedy: "",
            reference: "",
            metrics: &[],
            params: &[],
        }
    }

    fn reading(check: &'static CheckSpec, metric: &'static Metric, value: f64) -> Reading {
        Reading { check, metric, joint: None, value, spans: SpanList::default(), note: None }
    }

    fn judged(check: &'static CheckSpec, metric: &'static Metric, value: f64) -> Option<Severity> {
        findings(&[reading(check, metric, value)], &Limits::default()).first().map(|f| f.severity)
    }

    #[test]
    fn a_reading_at_its_limit_is_within_it() {
        assert_eq!(judged(&HARD, &SHARE, 0.1), None);
        assert_eq!(judged(&HARD, &SHARE, 0.100_001), Some(Severity::Warn));
        assert_eq!(judged(&HARD, &SHARE, 0.300_001), Some(Severity::Fail));
        assert_eq!(judged(&HARD, &COUNTS, 3.0), None);
        assert_eq!(judged(&HARD, &COUNTS, 2.9), Some(Severity::Fail));
    }

    /// Every limit that any check declares, whatever its unit: at it a reading is within, as a card
    /// holds it and as the ledger does, and the next single beyond it is not.
    #[test]
    fn cards_and_ledger_agree_at_every_limit() {
        let checks = of_episodes().map(crate::check::Check::spec);
        let mut units = BTreeSet::new();
        for (check, metric) in checks.flat_map(|c| c.metrics.iter().map(move |m| (c, *m))) {
            let (limit, away) = match metric.bound {
                Bound::Above(limit) => (limit, f32::next_up as fn(f32) -> f32),
                Bound::Below(limit) => (limit, f32::next_down as fn(f32) -> f32),
                Bound::Unjudged => continue,
            };
            let held = |value| severity(check, metric.bound, limit, value);
            for at in [limit.warn, limit.fail].into_iter().flatten() {
                let (kept, next) = (f64::from(at as f32), f64::from(away(at as f32)));
                let what = format!("{} {} at {at}", check.id, metric.id);
                assert_eq!(held(at), held(kept), "{what}");
                let past = [at, kept, next].map(|value| is_past(metric.bound, at, value));
                assert_eq!(past, [false, false, true], "{what}");
                assert!(held(next).is_some(), "{what}");
                units.insert(format!("{:?}", metric.unit));
            }
        }
        assert!(units.len() >= 5, "{units:?}");
    }

    #[test]
    fn nothing_is_said_of_what_is_quiet_and_something_of_the_rest() {
        for (check, metric) in [(&HARD, &SHARE), (&HARD, &GAP), (&HARD, &COUNTS), (&SOFT, &GAP)] {
            let (low, high) = quiet(metric.bound, Limits::default().get(check, metric));
            for value in [-1.0, 0.0, 0.1, 0.11, 0.25, 0.26, 2.9, 3.0, 3.1] {
                let said = judged(check, metric, value).is_some();
                assert_eq!(said, value < low || value > high, "{} {value}", metric.id);
            }
        }
    }

    #[test]
    fn an_advisory_check_never_fails_an_episode() {
        assert_eq!(judged(&SOFT, &SHARE, 9.0), Some(Severity::Warn));
        assert_eq!(judged(&SOFT, &GAP, 9.0), Some(Severity::Warn));
    }

    #[test]
    fn one_cause_is_one_line_the_worst() {
        let readings = [reading(&HARD, &SHARE, 0.2), reading(&HARD, &GAP, 0.5)];
        let found = findings(&readings, &Limits::default());
        assert_eq!(found.len(), 1);
        assert_eq!((found[0].metric.id, found[0].severity), ("gap", Severity::Fail));
    }
}
