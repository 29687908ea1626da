//! Were the episodes of a task recorded at two paces?
//!
//! A policy that averages a fast and a slow way of doing it does neither; several operators, or one
//! before and after a break, do this.
//!
//! How: the logarithm of the mean speed in motion (see smoothness) of a task's episodes, cut in two
//! where the sum of squares is smallest. It must leave less than the flattest single peak would (a
//! uniform one, in one sample of two hundred) with a valley between, and 15 % of the episodes, at
//! least five, on either side. The reading is the ratio of both medians; 1 where one pace will do.
//!
//! Traps: episodes of two tasks, or to two places, differ in speed as well: without a task column
//! that is what is found. Few episodes at one of the paces are hard to tell from a slow or hasty
//! few: where the paces lie six standard deviations apart, 60 % are found with 12 of 40 episodes at the rarer
//! one, 95 % with 20. Fewer than 20 episodes of a task are not assessed.

use super::rows::{largest, reading};
use crate::check::motion::smoothness;
use crate::check::{Check, CohortSheet, MetricOf, Params};
use crate::model::{CheckSpec, Family, Ledger, Metric, SessionReading, Unit, count};
use crate::num::two_peaks::two_peaks;

static RATIO: Metric = Metric::of_episode(
    "pace_ratio",
    Unit::Ratio,
    "the faster pace over the slower; 1 where there is one pace",
)
.above(Some(1.5), None);

static SPEC: CheckSpec = CheckSpec {
    id: "mixed-speeds",
    family: Family::Session,
    applies_to: crate::model::SignalKind::ALL,
    needs: crate::model::Relation::Nothing,
    advisory: true,
    source: include_str!("mixed_speeds.rs"),
    cause: "several operators, or one who got used to it",
    remedy: "train on one pace, or tell the paces apart in the task",
    reference: "Shi et al., arXiv 2507.06219, on mixed speeds; the cut by simulation; limit: \
                engineering judgement",
    metrics: &[&RATIO],
    params: &[],
};

/// Fewer episodes have no pace.
const ENOUGH: usize = 20;
/// Episodes on either side: this share, and this many.
const SHARE: f64 = 0.15;
const EACH: usize = 5;

/// The check; the head of this file is its manual.
pub static CHECK: Check = Check::of_session(&SPEC, measure);

fn measure(ledger: &Ledger, _: &Params, sheet: &mut CohortSheet<'_>) {
    match largest(
        ledger,
        MetricOf::new(&smoothness::CHECK, &smoothness::MOVING_SPEED),
        ENOUGH,
        read,
    ) {
        Ok(worst) => sheet.session.push(worst),
        Err(most) => {
            let reason = format!("{} of a task in motion, needs {ENOUGH}", count(most, "episode"));
            sheet.not_assessed(&SPEC, reason);
        }
    }
}

fn read(speeds: &[f64]) -> SessionReading {
    let logs: Vec<f64> = speeds.iter().map(|v| v.max(f64::MIN_POSITIVE).ln()).collect();
    let of = logs.len();
    let smallest = EACH.max((SHARE * of as f64).ceil() as usize);
    let Some(peaks) = two_peaks(&logs, smallest) else {
        let reading = reading(&SPEC, &RATIO, None, 1.0);
        return SessionReading { reading, from: None, episodes: of as u64, of: of as u64 };
    };
    let (slow, fast) = (peaks.medians.0.exp().to_degrees(), peaks.medians.1.exp().to_degrees());
    let mut reading = reading(&SPEC, &RATIO, None, fast / slow);
    reading.note = Some(format!("{slow:.0} and {fast:.0} deg/s, the faster pace").into());
    SessionReading { reading, from: None, episodes: peaks.upper as u64, of: of as u64 }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cohort::rows;

    fn measured(speeds: &[f64]) -> CohortSheet<'static> {
        let ledger =
            rows::measured(MetricOf::new(&smoothness::CHECK, &smoothness::MOVING_SPEED), speeds);
        let mut sheet = CohortSheet::default();
        CHECK.measure_session(&ledger, &Params::default(), &mut sheet);
        sheet
    }

    #[test]
    fn two_paces_are_told_with_their_ratio_one_is_one() {
        let spread = |i: usize| 1.0 + 0.2 * ((i * 7 % 20) as f64 / 20.0 - 0.5);
        let one: Vec<f64> = (0..40).map(spread).collect();
        let sheet = measured(&one);
        assert_eq!(sheet.session[0].reading.value, 1.0);
        let two: Vec<f64> = (0..40).map(|i| spread(i) * if i < 14 { 1.8 } else { 1.0 }).collect();
        let sheet = measured(&two);
        let read = &sheet.session[0];
        assert!((read.reading.value - 1.8).abs() < 0.1, "{read:?}");
        assert_eq!((read.episodes, read.of), (14, 40));
        assert!(measured(&two[..19]).not_assessed[0].reason.contains("needs 20"));
    }
}
