//! What in the data bears a repair out, and the figures of it.

use crate::app::AppError;
use crate::app::keep::mend::refused;
use crate::model::{CardPlace, CheckSpec, Finding, JointId, Metric, Outcome, Rig};
use crate::num::robust::median;
use crate::report::keep::FigureShape;

/// What was found.
#[derive(Debug, Clone, Copy)]
pub(super) struct Evidence<'a> {
    pub outcome: &'a Outcome,
    pub rig: &'a Rig,
}

impl Evidence<'_> {
    /// The cards that show something; an error where none does.
    pub fn shown(
        &self,
        option: &str,
        check: &CheckSpec,
        joint: Option<JointId>,
    ) -> Result<Vec<bool>, AppError> {
        let outcome = self.outcome;
        let session = outcome.session.findings.iter();
        let session: Vec<_> = session.filter(|f| f.check.is(check) && f.joint == joint).collect();
        let places = CardPlace::all(outcome.cards.len());
        let shown: Vec<bool> = if session.is_empty() {
            let own = |f: &&Finding| f.check.is(check) && f.joint == joint;
            outcome.cards.iter().map(|card| card.findings.iter().any(|f| own(&f))).collect()
        } else {
            places.map(|place| session.iter().any(|finding| finding.covers(place))).collect()
        };
        if shown.iter().any(|shown| *shown) {
            return Ok(shown);
        }
        let of = joint.map_or("", |joint| self.rig.joint_name(joint));
        let why = format!("nothing in the data bears it out: {} does not report {of}", check.id);
        let hint = format!("see `teleassay explain {}`; nothing is changed on a guess", check.id);
        Err(refused(option, why.trim_end(), &hint))
    }

    /// The median of a measurement over the episodes, and of how many.
    pub fn median(&self, check: &str, metric: &str, joint: Option<JointId>) -> Option<(f64, u64)> {
        let mut columns = self.outcome.ledger.columns();
        let column = columns.find(|c| c.0.id == check && c.1.id == metric && c.2 == joint)?;
        let values = column.3.iter().filter(|value| value.is_finite());
        let values: Vec<f64> = values.map(|value| f64::from(*value)).collect();
        (!values.is_empty()).then(|| (median(&values), values.len() as u64))
    }

    /// The medians of a check's measurements.
    pub fn figures(&self, check: &CheckSpec, joint: Option<JointId>) -> Vec<FigureShape> {
        let figure = |metric: &&&Metric| {
            let (value, episodes) = self.median(check.id, metric.id, joint)?;
            let what = format!("{}/{}", check.id, metric.id);
            let unit = metric.unit.symbol();
            Some(FigureShape { episodes: Some(episodes), ..self.figure(&what, joint, value, unit) })
        };
        check.metrics.iter().collect::<Vec<_>>().iter().filter_map(figure).collect()
    }

    pub fn figure(
        &self,
        what: &str,
        joint: Option<JointId>,
        value: f64,
        unit: &str,
    ) -> FigureShape {
        let joint = joint.map(|joint| self.rig.joint_name(joint).to_owned());
        FigureShape { what: what.to_owned(), joint, value, unit: unit.to_owned(), episodes: None }
    }
}
