//! The limits in force.

use std::collections::BTreeMap;

use crate::model::{Bound, CheckSpec, Limit, Metric};

/// The limits in force: those that were set, over the defaults that each check declares.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Limits(BTreeMap<(&'static str, &'static str), Limit>);

impl Limits {
    /// Sets the limit of a measurement, in the measurement's unit. The side on which a reading is
    /// bad stays as declared.
    pub fn set(&mut self, check: &CheckSpec, metric: &Metric, limit: Limit) {
        self.0.insert((check.id, metric.id), limit);
    }

    /// The limit in force; no limit at all for a measurement that is never judged.
    pub fn get(&self, check: &CheckSpec, metric: &Metric) -> Limit {
        match metric.bound {
            Bound::Unjudged => Limit::default(),
            Bound::Above(default) | Bound::Below(default) => {
                self.0.get(&(check.id, metric.id)).copied().unwrap_or(default)
            }
        }
    }

    /// Every limit that was set, as check id, metric id and limit, in the order of their ids.
    pub fn overrides(&self) -> impl Iterator<Item = (&'static str, &'static str, Limit)> {
        self.0.iter().map(|(&(check, metric), &limit)| (check, metric, limit))
    }
}
