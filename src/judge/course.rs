//! Each judged measurement over the episodes: its values in order, its worst joint, how bad it is.

use super::limits::Limits;
use super::rows::Shown;
use super::severity::severity;
use super::worst::scaled;
use crate::model::{Bound, CheckSpec, Limit, Outcome, Severity};
use crate::num::quantile::median_in_place;

/// A measurement over the episodes.
#[derive(Debug, Clone)]
pub struct Course {
    /// The check.
    pub check: &'static CheckSpec,
    /// The worst reading and the limit it is shown against.
    pub worst: Shown,
    /// Its limits.
    pub limits: Limit,
    /// The worst joint's reading of each episode; `NaN` where there is none.
    pub values: Vec<f32>,
    /// The median of these.
    pub median: f64,
}

impl Course {
    /// How bad a value of one episode is; none within the limits.
    pub fn severity(&self, value: f32) -> Option<Severity> {
        let bound = self.worst.metric.bound;
        severity(self.check, bound, self.limits, f64::from(value)).map(|(severity, _)| severity)
    }

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
        let both = limits.on(check, metric, joint);
        let Some(limit) = both.warn.or(both.fail) else { continue };
        let worse = |a: f32, b: f32| match metric.bound {
            Bound::Below(_) => a < b,
            Bound::Above(_) => a > b,
            Bound::Unjudged => false,
        };
        // Joints that slide are not in the unit of those that turn: the measurement has a line for each.
        let same =
            |one: &Course| one.worst.metric.is(metric) && one.check.is(check) && one.limits == both;
        let known = all.iter().position(same);
        let at = known.unwrap_or_else(|| {
            let worst = Shown { metric, joint, value: f64::NAN, limit, severity: None };
            let (values, median) = (vec![f32::NAN; rows], f64::NAN);
            all.push(Course { check, worst, limits: both, values, median });
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
        let crossed = severity(one.check, one.worst.metric.bound, one.limits, one.worst.value);
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
