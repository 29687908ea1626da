//! Each judged measurement over the episodes: its values in order, its worst joint, how bad it is.

use super::limits::Limits;
use super::rows::Shown;
use super::severity::severity;
use super::worst::scaled;
use crate::model::{Bound, CheckSpec, Outcome, Severity};
use crate::num::quantile::median_in_place;

/// A measurement over the episodes.
#[derive(Debug, Clone)]
pub struct Course {
    /// The check.
    pub check: &'static CheckSpec,
    /// The worst reading and the limit it is shown against.
    pub worst: Shown,
    /// The worst joint's reading of each episode; `NaN` where there is none.
    pub values: Vec<f32>,
    /// The median of these.
    pub median: f64,
}

impl Course {
    /// Place in a list that goes worst first.
    const fn rank(&self) -> u8 {
        match self.worst.severity {
            Some(Severity::Fail) => 0,
            Some(Severity::Warn) => 1,
            None => 2,
        }
    }
}

/// Every judged measurement, at its worst joint, worst first.
pub(super) fn courses(
    outcome: &Outcome,
    limits: &Limits,
    checks: &[&'static CheckSpec],
) -> Vec<Course> {
    let mut all: Vec<Course> = Vec::new();
    let rows = outcome.ledger.rows();
    for (check, metric, joint, values) in outcome.ledger.columns() {
        let limit = limits.get(check, metric);
        let Some(limit) = limit.warn.or(limit.fail) else { continue };
        let worse = |a: f32, b: f32| match metric.bound {
            Bound::Below(_) => a < b,
            Bound::Above(_) => a > b,
            Bound::Unjudged => false,
        };
        let same = |one: &Course| one.worst.metric.is(metric) && one.check.is(check);
        let known = all.iter().position(same);
        let at = known.unwrap_or_else(|| {
            let worst = Shown { metric, joint, value: f64::NAN, limit, severity: None };
            all.push(Course { check, worst, values: vec![f32::NAN; rows], median: f64::NAN });
            all.len() - 1
        });
        let one = &mut all[at];
        for (kept, &value) in one.values.iter_mut().zip(values).filter(|(_, v)| v.is_finite()) {
            if kept.is_nan() || worse(value, *kept) {
                *kept = value;
            }
            if one.worst.value.is_nan() || worse(value, one.worst.value as f32) {
                one.worst.value = f64::from(value);
                one.worst.joint = joint;
            }
        }
    }
    all.retain(|one| one.worst.value.is_finite());
    for one in &mut all {
        let mut finite: Vec<f32> = one.values.iter().copied().filter(|v| v.is_finite()).collect();
        one.median = median_in_place(&mut finite);
        let limit = limits.get(one.check, one.worst.metric);
        let crossed = severity(one.check, one.worst.metric.bound, limit, one.worst.value);
        if let Some((severity, limit)) = crossed {
            one.worst.limit = limit;
            one.worst.severity = Some(severity);
        }
    }
    let place = |one: &Course| checks.iter().position(|check| check.id == one.check.id);
    let far = |one: &Course| scaled(one.worst.metric.bound, one.worst.value, one.worst.limit);
    all.sort_by(|a, b| {
        let rank = a.rank().cmp(&b.rank());
        rank.then(far(b).total_cmp(&far(a))).then(place(a).cmp(&place(b)))
    });
    all
}
