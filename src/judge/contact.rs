//! Contact that belongs to the task explains the tracking errors that it makes.
//!
//! Fingers on an object and a tool on a table are off their leader by design: in every episode, and
//! only while they touch. A joint that meets something in one episode alone keeps its finding.

use super::facts::explain;
use super::limits::Limits;
use super::severity::severity;
use crate::check::tracking::external_disturbance::{self, CONTACT_SHARE};
use crate::check::tracking::tracking_error::{self, ERROR_P95, FREE_ERROR_P95};
use crate::model::{Ledger, Metric, Scorecard, Suppressed, Why};

/// An episode is in contact for more of its time than this.
const TOUCHES: f32 = 0.01;
/// What holds a joint in more of the episodes than this is part of the task, as for
/// contact-outlier. Whichever joint that is: an object meets another finger in each.
const SHARE: f64 = 0.3;
/// Fewest episodes that show what is usual.
const ENOUGH: usize = 6;

/// Moves what is explained so from the findings of the cards to what is explained. The ledger has a
/// row for each card.
pub(super) fn fold(cards: &mut [Scorecard], ledger: &Ledger, limits: &Limits) {
    let of = |spec: &crate::model::CheckSpec, metric: &Metric| {
        let columns: Vec<_> = ledger
            .columns()
            .filter(|c| c.0.is(spec) && c.1.is(metric))
            .map(|c| (c.2, c.3))
            .collect();
        columns
    };
    let contact = of(external_disturbance::CHECK.spec, &CONTACT_SHARE);
    let touches = |row: &usize| {
        let shares = contact.iter().filter_map(|(_, values)| values.get(*row));
        shares.into_iter().any(|share| *share > TOUCHES)
    };
    let touching = (0..cards.len()).filter(touches).count();
    if cards.len() < ENOUGH || touching as f64 <= SHARE * cards.len() as f64 {
        return;
    }
    let free = of(tracking_error::CHECK.spec, &FREE_ERROR_P95);
    for (row, card) in cards.iter_mut().enumerate() {
        explain(card, &|finding| {
            let spec = finding.check;
            let error = spec.is(tracking_error::CHECK.spec) && finding.metric.is(&ERROR_P95);
            let known = contact.iter().find(|(joint, _)| *joint == finding.joint && error)?;
            let (_, free) = free.iter().find(|(joint, _)| *joint == finding.joint)?;
            let left = f64::from(*free.get(row)?);
            let limit = limits.on(spec, finding.metric, finding.joint);
            let within = severity(spec, finding.metric.bound, limit, left).is_none();
            let touches = known.1.get(row).is_some_and(|share| *share > TOUCHES);
            let by = (external_disturbance::CHECK.spec, finding.joint);
            (left.is_finite() && within && touches)
                .then(|| Suppressed::new(finding, Why::Usual, by))
        });
    }
}
