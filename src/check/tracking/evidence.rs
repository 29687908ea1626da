//! What load and voltage say of a follower that stopped following.

use std::ops::Range;

use crate::check::prelude::Study;
use crate::model::{Metric, Sheet, Unit};
use crate::num::quantile::median_in_place;

pub(super) static LOAD_BEFORE: Metric = Metric::of_joint(
    "load_before",
    Unit::Ratio,
    "largest load in the second before it was lost, of the episode's largest",
);
pub(super) static VOLTAGE_DIP: Metric = Metric::of_joint(
    "voltage_dip",
    Unit::Ratio,
    "how far the voltage was below its median when it was lost",
);

/// A load this near the episode's largest bears a trip out.
const FULL_LOAD: f64 = 0.95;
/// A voltage this far below its median bears a brown-out out.
const DIP: f64 = 0.1;
/// How long before the loss load is looked at, and how long around its start.
const BEFORE_S: f64 = 1.0;
const AROUND_S: f64 = 0.3;

/// Readings of the columns that the table has, worst over the losses of one joint.
#[derive(Debug, Default)]
pub(super) struct Evidence {
    load: Option<f64>,
    dip: Option<f64>,
}

impl Evidence {
    /// Looks at the rows of each loss.
    pub fn of(
        study: &Study<'_>,
        joint: usize,
        losses: impl Iterator<Item = Range<usize>>,
        period_s: f64,
    ) -> Self {
        let extras = &study.episode.extras;
        let load = extras.effort.as_ref().map(|effort| effort.joint(joint));
        let volts = extras.voltage.as_ref();
        let volts = volts.map(|v| v.joint(if v.joints() == 1 { 0 } else { joint }));
        let mut evidence = Self::default();
        if load.is_none() && volts.is_none() {
            return evidence;
        }
        let rows = |seconds: f64| (seconds / period_s).round() as usize;
        let known = |v: &&f32| v.is_finite();
        let largest = |values: &[f32]| {
            values.iter().filter(known).map(|v| f64::from(v.abs())).fold(0.0, f64::max)
        };
        let most = load.map_or(0.0, largest);
        let usual = volts.map_or(0.0, |volts| {
            let mut all: Vec<f32> = volts.iter().filter(known).copied().collect();
            median_in_place(&mut all)
        });
        for loss in losses {
            let frames = study.episode.frames();
            let start = loss.start.saturating_sub(rows(BEFORE_S));
            let soon = (loss.start + rows(AROUND_S)).min(frames);
            if let Some(load) = load.filter(|_| most > 0.0) {
                let share = largest(&load[start..soon]) / most;
                evidence.load = Some(evidence.load.map_or(share, |known| known.max(share)));
            }
            if let Some(volts) = volts.filter(|_| usual > 0.0) {
                let from = loss.start.saturating_sub(rows(AROUND_S));
                let there = volts[from..loss.end.min(frames)].iter().filter(known);
                let smallest = there.map(|v| f64::from(*v)).fold(f64::INFINITY, f64::min);
                let dip = (1.0 - smallest / usual).max(0.0);
                evidence.dip = Some(evidence.dip.map_or(dip, |known| known.max(dip)));
            }
        }
        evidence
    }

    /// Adds it to the reading that was written last.
    pub fn put(&self, joint: usize, sheet: &mut Sheet) {
        let said = match (self.load, self.dip) {
            (Some(load), _) if load >= FULL_LOAD => {
                format!("load bears it out: {:.0} % of its largest before", 100.0 * load)
            }
            (_, Some(dip)) if dip > DIP => {
                format!("voltage bears it out: down {:.0} %", 100.0 * dip)
            }
            (Some(_), Some(_)) => "neither load nor voltage bears it out".to_owned(),
            (Some(load), None) => {
                format!("load does not bear it out: {:.0} % of its largest before", 100.0 * load)
            }
            (None, Some(_)) => "voltage does not bear it out".to_owned(),
            (None, None) => return,
        };
        sheet.note(said);
        if let Some(load) = self.load {
            sheet.put_joint(&LOAD_BEFORE, joint, load);
        }
        if let Some(dip) = self.dip {
            sheet.put_joint(&VOLTAGE_DIP, joint, dip);
        }
    }
}
