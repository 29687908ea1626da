//! What all the episodes of a session say together of what is of the rig and not of the take.
//!
//! Each check declares which of its measurements are pooled ([`Pool`]). The session finds something
//! where the median over the episodes is beyond the limit, whatever single episodes say: weak
//! evidence adds up, and noise that makes one episode in two warn does not. The interval of that
//! median tells a size from a guess: where the limit lies within it, that is said.

use super::evidence::Evidence;
use super::limits::Limits;
use super::severity::{is_past, severity};
use super::stretch::stretch;
use crate::model::{
    Bound, CardPlace, CheckSpec, JointId, Ledger, Limit, Metric, Pool, SessionFinding, Stretch,
};

#[cfg(test)]
mod tests;

/// With this confidence, and all of the interval beyond the limit, the session is sure where no
/// episode can be.
const SURE: f64 = 0.95;

/// Findings of the session on the measurements that are pooled.
pub(super) fn pooled(ledger: &Ledger, limits: &Limits) -> Vec<SessionFinding> {
    let mut found = Vec::new();
    for (check, metric, joint, own) in ledger.columns() {
        let Some(pool) = metric.pool else { continue };
        let (signed, neutral) = match pool {
            Pool::About { signed, neutral } => {
                (values(ledger, check, signed, joint), Some(neutral))
            }
            Pool::Own | Pool::Session(_) | Pool::Fact(_) => (Some(own), None),
        };
        let Some(signed) = signed else { continue };
        let read: Vec<Read> = own
            .iter()
            .zip(signed)
            .enumerate()
            .filter(|(_, (own, signed))| own.is_finite() && signed.is_finite())
            .map(|(row, (own, signed))| Read { row, own: (*own).into(), signed: (*signed).into() })
            .collect();
        let column = Column { check, metric, joint, read, neutral };
        let own = column.judge(metric.bound, limits.on(check, metric, joint), false);
        let of_joint = |limit| limits.ruled(check, limits.scaled(limit, metric, joint));
        let strict = || match pool {
            Pool::Session(bound @ (Bound::Above(limit) | Bound::Below(limit))) => {
                column.judge(bound, of_joint(limit), true)
            }
            Pool::Fact(bound @ (Bound::Above(limit) | Bound::Below(limit))) => {
                column.judge(bound, of_joint(limit), false)
            }
            _ => None,
        };
        found.extend(own.or_else(strict));
    }
    found
}

/// The readings of a measurement on a joint, by row.
fn values<'a>(
    ledger: &'a Ledger,
    check: &CheckSpec,
    metric: &Metric,
    joint: Option<JointId>,
) -> Option<&'a [f32]> {
    ledger.columns().find(|c| c.2 == joint && c.1.is(metric) && c.0.is(check)).map(|c| c.3)
}

/// A reading as its episode is judged by it, and with its sign, the same where it has none.
struct Read {
    row: usize,
    own: f64,
    signed: f64,
}

/// One measurement of one joint over the episodes in which it was read.
struct Column {
    check: &'static CheckSpec,
    metric: &'static Metric,
    joint: Option<JointId>,
    read: Vec<Read>,
    /// What the reading's size is counted from, for a signed one.
    neutral: Option<f64>,
}

impl Column {
    /// Two groups first: of episodes that differ in health the median of all says nothing.
    fn judge(&self, bound: Bound, limit: Limit, strict: bool) -> Option<SessionFinding> {
        let first = limit.warn.or(limit.fail)?;
        let flags: Vec<bool> =
            self.read.iter().map(|read| is_past(bound, first, read.own)).collect();
        let group = stretch(&flags).and_then(|(a, b)| {
            let found = self.of(a..b + 1, &flags, bound, limit, true)?;
            let place = |at: usize| CardPlace::new(self.read[at].row);
            let (first, last) = (place(a), place(b));
            Some(SessionFinding { stretch: Some(Stretch { first, last }), ..found })
        });
        group.or_else(|| self.of(0..self.read.len(), &flags, bound, limit, strict))
    }

    fn of(
        &self,
        part: std::ops::Range<usize>,
        flags: &[bool],
        bound: Bound,
        limit: Limit,
        strict: bool,
    ) -> Option<SessionFinding> {
        let mut values: Vec<f64> = self.read[part.clone()].iter().map(|read| read.signed).collect();
        // Of nearly all measurements nothing is to be said.
        severity(self.check, bound, limit, Evidence::value_of(&mut values, self.neutral))?;
        let evidence = Evidence::of(values, self.neutral);
        let (severity, limit) = severity(self.check, bound, limit, evidence.value)?;
        let near = evidence.interval.map(|interval| match bound {
            Bound::Below(_) => interval.high,
            Bound::Above(_) | Bound::Unjudged => interval.low,
        });
        let clear = near.is_some_and(|near| is_past(bound, limit, near));
        let sure = clear && evidence.interval.is_some_and(|i| i.confidence >= SURE);
        let episodes = flags[part].iter().filter(|flag| **flag).count() as u64;
        let enough = episodes >= 2 && 2 * episodes >= evidence.read;
        (sure || (enough && !strict)).then_some(SessionFinding {
            check: self.check,
            metric: self.metric,
            severity,
            joint: self.joint,
            value: evidence.value,
            interval: evidence.interval,
            read: evidence.read,
            limit,
            at_limit: !clear,
            episodes,
            of: self.read.len() as u64,
            stretch: None,
            note: String::new(),
        })
    }
}
