//! Do some episodes end with the return, and others without?
//!
//! The end of the task then has two answers: to stay, and to go back to where it began.
//!
//! How: the share of a task's episodes that return to their start pose, as read by reset motion;
//! the reading is the share of the rarer kind, with at least three episodes of each. It is zero
//! where both kinds run into each other: more than a tenth of the episodes end between a tenth and a
//! third of the way off.
//!
//! Traps: a task that ends here or there by its nature (sorting to the left and the right) does so
//! rightly. Fewer than 10 episodes of a task are not assessed.

use super::rows::{largest, reading};
use super::usual::ENOUGH;
use crate::check::motion::reset_motion;
use crate::check::{Check, CohortSheet, MetricOf, Params};
use crate::model::{CheckSpec, Family, Ledger, Metric, SessionReading, Unit, count};

static RARER: Metric = Metric::of_episode(
    "rarer_ending",
    Unit::Ratio,
    "share of the episodes that end as fewer do: with the return, or without",
)
.above(Some(0.1), None);

static SPEC: CheckSpec = CheckSpec {
    id: "mixed-endings",
    family: Family::Session,
    applies_to: crate::model::SignalKind::MOVING,
    needs: crate::model::Relation::Nothing,
    advisory: true,
    source: include_str!("mixed_endings.rs"),
    cause: "the return to the start was recorded in some episodes only",
    remedy: "trim the return from all episodes, or record it in all",
    reference: "common practice, no source",
    metrics: &[&RARER],
    params: &[],
};

/// Episodes of each kind.
const EACH: usize = 3;
/// Shares of the farthest way between which an end is neither here nor there, and most that are.
const BETWEEN: (f64, f64) = (0.1, 1.0 / 3.0);
const MOST_BETWEEN: f64 = 0.1;

/// The check; the head of this file is its manual.
pub static CHECK: Check = Check::of_session(&SPEC, measure);

fn measure(ledger: &Ledger, _: &Params, sheet: &mut CohortSheet<'_>) {
    match largest(
        ledger,
        MetricOf::new(&reset_motion::CHECK, &reset_motion::RETURN_SHARE),
        ENOUGH,
        read,
    ) {
        Ok(worst) => sheet.session.push(worst),
        Err(most) => {
            let reason =
                format!("{} of a task that went anywhere, needs {ENOUGH}", count(most, "episode"));
            sheet.not_assessed(&SPEC, reason);
        }
    }
}

fn read(shares: &[f64]) -> SessionReading {
    let of = shares.len();
    let count = |is: &dyn Fn(f64) -> bool| shares.iter().filter(|share| is(**share)).count();
    let home = count(&|share| share < 0.15);
    let between = count(&|share| (BETWEEN.0..BETWEEN.1).contains(&share));
    let rarer = home.min(of - home);
    let apart = between as f64 <= MOST_BETWEEN * of as f64 && rarer >= EACH;
    let value = if apart { rarer as f64 / of as f64 } else { 0.0 };
    let mut reading = reading(&SPEC, &RARER, None, value);
    let how = if home == rarer { "end with the return" } else { "end without the return" };
    reading.note = Some(how.into());
    SessionReading { reading, from: None, episodes: rarer as u64, of: of as u64 }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cohort::rows;

    fn measured(shares: &[f64]) -> CohortSheet<'static> {
        let ledger = rows::measured(
            MetricOf::new(&reset_motion::CHECK, &reset_motion::RETURN_SHARE),
            shares,
        );
        let mut sheet = CohortSheet::default();
        CHECK.measure_session(&ledger, &Params::default(), &mut sheet);
        sheet
    }

    fn value(shares: &[f64]) -> f64 {
        measured(shares).session.first().map_or(f64::NAN, |read| read.reading.value)
    }

    #[test]
    fn some_with_and_some_without_are_told_all_alike_are_not() {
        let mut shares = vec![0.8; 20];
        assert_eq!(value(&shares), 0.0);
        shares[3..9].fill(0.03);
        assert_eq!(value(&shares), 0.3);
        shares[3..18].fill(0.03);
        assert_eq!(value(&shares), 0.25);
        // One or two among many are odd episodes, and no habit.
        shares[..18].fill(0.03);
        assert_eq!(value(&shares), 0.0);
        // Ends that lie anywhere are one kind.
        let anywhere: Vec<f64> = (0..40).map(|i| f64::from(i) / 60.0).collect();
        assert_eq!(value(&anywhere), 0.0);
        assert!(measured(&shares[..9]).not_assessed[0].reason.contains("needs 10"));
    }
}
