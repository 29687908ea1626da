//! The limits in force.

use std::collections::BTreeMap;

use crate::model::{Bound, CheckSpec, Limit, Metric, Severity};

/// The limits in force: those that were set, over the defaults that each check declares.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Limits {
    set: BTreeMap<(&'static str, &'static str), Limit>,
    rulings: BTreeMap<&'static str, Severity>,
}

impl Limits {
    /// Sets the limit of a measurement, in the measurement's unit. The side on which a reading is
    /// bad stays as declared.
    pub fn set(&mut self, check: &CheckSpec, metric: &Metric, limit: Limit) {
        self.set.insert((check.id, metric.id), limit);
    }

    /// Rules how bad whatever a check finds is.
    pub fn rule(&mut self, check: &CheckSpec, severity: Severity) {
        self.rulings.insert(check.id, severity);
    }

    /// A limit that a check states itself, with what was ruled for the check.
    pub fn ruled(&self, check: &CheckSpec, limit: Limit) -> Limit {
        Limit { ruling: self.rulings.get(check.id).copied(), ..limit }
    }

    /// What was ruled for checks, in the order of their ids.
    pub fn rulings(&self) -> impl Iterator<Item = (&'static str, Severity)> {
        self.rulings.iter().map(|(&check, &severity)| (check, severity))
    }

    /// The limit in force; no limit at all for a measurement that is never judged.
    pub fn get(&self, check: &CheckSpec, metric: &Metric) -> Limit {
        match metric.bound {
            Bound::Unjudged => Limit::default(),
            Bound::Above(default) | Bound::Below(default) => {
                let limit = self.set.get(&(check.id, metric.id)).copied();
                self.ruled(check, limit.unwrap_or(default))
            }
        }
    }

    /// Every limit that was set, as check id, metric id and limit, in the order of their ids.
    pub fn overrides(&self) -> impl Iterator<Item = (&'static str, &'static str, Limit)> {
        self.set.iter().map(|(&(check, metric), &limit)| (check, metric, limit))
    }
}
