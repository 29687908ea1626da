//! The limits in force.

use std::collections::BTreeMap;

use crate::model::{Bound, CheckSpec, JointId, Limit, Metric, Rig, Severity};

/// The limits in force: those that were set, over the defaults that each check declares.
///
/// A limit in radians is of joints that turn. On a linear joint it is in metres, 2 mm for a degree: the
/// joints that are linear are known once the limits are [`of_rig`](Self::of_rig).
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Limits {
    set: BTreeMap<(&'static str, &'static str), Limit>,
    rulings: BTreeMap<&'static str, Severity>,
    linear: Vec<bool>,
}

impl Limits {
    /// The same limits for the joints of a rig.
    #[must_use]
    pub fn of_rig(&self, rig: &Rig) -> Self {
        let linear = rig.joints.iter().map(|joint| joint.linear).collect();
        Self { linear, ..self.clone() }
    }

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

    /// The limit in force, of joints that turn; no limit at all for a measurement that is never judged.
    pub fn get(&self, check: &CheckSpec, metric: &Metric) -> Limit {
        match metric.bound {
            Bound::Unjudged => Limit::default(),
            Bound::Above(default) | Bound::Below(default) => {
                let limit = self.set.get(&(check.id, metric.id)).copied();
                self.ruled(check, limit.unwrap_or(default))
            }
        }
    }

    /// The limit in force for a reading of this joint.
    pub fn on(&self, check: &CheckSpec, metric: &Metric, joint: Option<JointId>) -> Limit {
        self.scaled(self.get(check, metric), metric, joint)
    }

    /// A limit of a measurement as it holds for a joint: in metres for a linear one.
    pub(super) fn scaled(&self, limit: Limit, metric: &Metric, joint: Option<JointId>) -> Limit {
        let scale = self.scale(metric, joint);
        Limit { warn: limit.warn.map(|v| v * scale), fail: limit.fail.map(|v| v * scale), ..limit }
    }

    /// What a limit of a measurement is multiplied by on a joint. Readings of joints that differ in it
    /// can be compared once they are divided by it.
    pub(super) fn scale(&self, metric: &Metric, joint: Option<JointId>) -> f64 {
        let linear = joint.and_then(|joint| self.linear.get(usize::from(joint)));
        if linear.copied().unwrap_or(false) { metric.unit.on_linear() } else { 1.0 }
    }

    /// Every limit that was set, as check id, metric id and limit, in the order of their ids.
    pub fn overrides(&self) -> impl Iterator<Item = (&'static str, &'static str, Limit)> {
        self.set.iter().map(|(&(check, metric), &limit)| (check, metric, limit))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::catalogue::all;
    use crate::judge::findings;
    use crate::judge::pooled::pooled;
    use crate::model::{Joint, Ledger, Pool, Reading, Row, Scope, Severity, SpanList, Unit};

    /// A joint that turns and one that slides.
    fn limits() -> Limits {
        let lift = Joint { linear: true, ..Joint::named("lift") };
        let rig = Rig { joints: vec![Joint::named("waist"), lift], ..Rig::default() };
        Limits::default().of_rig(&rig)
    }

    fn reading(check: &'static CheckSpec, metric: &'static Metric, value: f64) -> Reading {
        let (joint, spans) = (Some(1), SpanList::default());
        Reading { check, metric, joint, value, spans, note: None }
    }

    /// Every measurement of a joint in radians, with the limits that it is held to alone and in a session.
    fn angles() -> impl Iterator<Item = (&'static CheckSpec, &'static Metric, Vec<Bound>)> {
        let metrics = all().flat_map(|c| c.spec.metrics.iter().map(move |m| (c.spec, *m)));
        let turns = |m: &Metric| matches!(m.unit, Unit::Radian | Unit::RadianPerSecond);
        let of_joint = move |(_, m): &(&CheckSpec, &Metric)| turns(m) && m.scope == Scope::Joint;
        metrics.filter(of_joint).map(|(check, metric)| {
            let of_session = match metric.pool {
                Some(Pool::Session(bound) | Pool::Fact(bound)) => Some(bound),
                _ => None,
            };
            (check, metric, of_session.into_iter().chain([metric.bound]).collect())
        })
    }

    /// No measurement can be added that a linear joint is held to in radians: 2 mm for a degree, whoever
    /// judges.
    #[test]
    fn a_linear_joint_is_held_to_metres_whatever_is_measured() {
        let (limits, mut judged) = (limits(), 0);
        for (check, metric, bounds) in angles() {
            let both = limits.on(check, metric, Some(1));
            let turning = limits.on(check, metric, Some(0));
            for (metres, radians) in [(both.warn, turning.warn), (both.fail, turning.fail)] {
                let (Some(metres), Some(radians)) = (metres, radians) else { continue };
                let what = format!("{} {}", check.id, metric.id);
                assert!((metres / (0.002 * radians.to_degrees()) - 1.0).abs() < 1e-12, "{what}");
                let said = |value| !findings(&[reading(check, metric, value)], &limits).is_empty();
                let above = matches!(bounds.last(), Some(Bound::Above(_)));
                let (within, beyond) = if above { (0.9, 1.1) } else { (1.1, 0.9) };
                assert!(said(beyond * metres), "{what}");
                let first = both.warn.or(both.fail).unwrap_or(metres);
                assert!(!said(within * first), "{what}");
                judged += 1;
            }
        }
        assert!(judged >= 15, "{judged}");
    }

    #[test]
    fn a_session_holds_a_linear_joint_to_metres_as_well() {
        let (limits, mut pools) = (limits(), 0);
        for (check, metric, bounds) in angles().filter(|(_, metric, _)| metric.pool.is_some()) {
            let Some(Bound::Above(Limit { warn: Some(warn), .. })) = bounds.first().copied() else {
                continue;
            };
            let metres = warn * metric.unit.on_linear();
            let said = |value: f64| {
                let mut ledger = Ledger::default();
                let mut readings = vec![reading(check, metric, value)];
                if let Some(Pool::About { signed, neutral }) = metric.pool {
                    readings.push(reading(check, signed, neutral + value));
                }
                for _ in 0..12 {
                    ledger.push(Row { frames: 300, ..Row::default() }, &readings);
                }
                let found = pooled(&ledger, &limits);
                found.iter().filter(|f| f.metric.is(metric)).map(|f| f.severity).next()
            };
            let what = format!("{} {}", check.id, metric.id);
            assert_eq!(said(1.1 * metres), Some(Severity::Warn), "{what}");
            assert_eq!(said(0.9 * metres), None, "{what}");
            pools += 1;
        }
        assert!(pools >= 3, "{pools}");
    }
}
