//! Which episodes took far longer, or were far shorter, than the others of their task?
//!
//! A take that was broken off teaches to stop there; one that was left running teaches to stand
//! about.
//!
//! How: the logarithm of the duration against the median of the task's episodes, over a robust standard
//! deviation (never below 7.4 %, a median absolute deviation of 5 %). It is odd if it is farther off than a
//! Student's t with 5 degrees of freedom would be in one sound session of a hundred of this size,
//! wider for few episodes: twice as long in 50 episodes that differ little, two and a half times in
//! 15. The reading is the distance as a multiple of that.
//!
//! Traps: lengths are skewed, so their logarithm is looked at. A task whose length is up to the
//! object (search until found) has no usual length, and a large standard deviation. Fewer than 10 episodes of
//! a task are not assessed. Where idle time explains the length, that is said instead.

use super::rows::{groups, reading, series};
use super::usual::{ENDLESS, ENOUGH, TOLD, Usual};
use crate::check::motion::duration;
use crate::check::{Check, CohortSheet, MetricOf, Params};
use crate::model::{CheckSpec, Family, Ledger, Metric, Unit, count};

static ODDNESS: Metric = Metric::of_episode(
    "length_oddness",
    Unit::Ratio,
    "distance of the log of the duration from the usual, as a multiple of what is odd",
)
.above(Some(1.0), None);
static TIMES_USUAL: Metric = Metric::of_episode(
    "times_usual_length",
    Unit::Ratio,
    "duration over the median duration of the task's episodes",
);

static SPEC: CheckSpec = CheckSpec {
    id: "duration-outlier",
    family: Family::Session,
    applies_to: crate::model::SignalKind::ALL,
    needs: crate::model::Relation::Nothing,
    advisory: true,
    source: include_str!("duration_outlier.rs"),
    cause: "the take was broken off, or left running, or something went wrong on the way",
    remedy: "look at the episode; trim it or record it again",
    reference: "robust z-score, Iglewicz & Hoaglin 1993; the cut-off by simulation",
    metrics: &[&ODDNESS, &TIMES_USUAL],
    params: &[],
};

/// A median absolute deviation of 5 %, as the standard deviation of a normal.
const LEAST: f64 = 0.05 * 1.4826;

/// The check; the head of this file is its manual.
pub static CHECK: Check = Check::of_session(&SPEC, measure);

fn measure(ledger: &Ledger, _: &Params, sheet: &mut CohortSheet<'_>) {
    let mut most = 0;
    for rows in groups(ledger) {
        for series in series(ledger, MetricOf::new(&duration::CHECK, &duration::DURATION), &rows) {
            most = most.max(series.rows.len());
            let positive = series.values.iter().map(|s| s.max(f64::MIN_POSITIVE).ln());
            let logs: Vec<f64> = positive.collect();
            let Some(usual) = Usual::of(&logs, LEAST, ledger.rows(), ENDLESS) else { continue };
            for (&row, log) in series.rows.iter().zip(&logs) {
                let times = (log - usual.centre).exp();
                let odd = reading(&SPEC, &ODDNESS, None, usual.above(*log).abs());
                let usual_s = usual.centre.exp();
                let words = || format!("{times:.2} times the usual {usual_s:.1} s");
                let note = if odd.value > TOLD { words() } else { String::new() };
                sheet.tell(row, odd, note);
                let times = reading(&SPEC, &TIMES_USUAL, None, times);
                sheet.tell(row, times, String::new());
            }
        }
    }
    if sheet.told() == 0 {
        sheet.not_assessed(
            &SPEC,
            format!("{} of a task with a duration, needs {ENOUGH}", count(most, "episode")),
        );
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::Row;

    fn measured(durations: &[f64], tasks: &[&str]) -> CohortSheet<'static> {
        let check = &duration::CHECK;
        let mut ledger = Ledger::default();
        for (at, duration_s) in durations.iter().enumerate() {
            let task = tasks.get(at % tasks.len().max(1)).map(|task| (*task).into());
            let row = Row { frames: 300, task: task.as_ref(), ..Row::default() };
            let spec = check.spec();
            ledger.push(row, &[reading(spec, &duration::DURATION, None, *duration_s)]);
        }
        let mut sheet = CohortSheet::default();
        CHECK.measure_session(&ledger, &Params::default(), &mut sheet);
        sheet
    }

    fn odd(sheet: &CohortSheet) -> Vec<usize> {
        let beyond = sheet.episodes.iter().filter(|e| e.1.metric.id == "length_oddness");
        beyond.filter(|e| e.1.value > 1.0).map(|e| e.0).collect()
    }

    #[test]
    fn the_long_and_the_short_are_named_and_no_other() {
        let mut durations: Vec<f64> = (0..40).map(|i| 12.0 + 0.1 * f64::from(i % 20)).collect();
        assert!(odd(&measured(&durations, &[])).is_empty());
        durations[7] = 40.0;
        durations[30] = 4.0;
        let sheet = measured(&durations, &[]);
        assert_eq!(odd(&sheet), [7, 30]);
        let note = sheet.episodes.iter().find(|e| e.0 == 7).map(|e| e.2.as_str());
        assert_eq!(note, Some("3.09 times the usual 12.9 s"));
        // Two thirds longer is within the usual.
        durations[7] = 20.0;
        assert_eq!(odd(&measured(&durations, &[])), [30]);
    }

    #[test]
    fn tasks_are_judged_by_themselves_and_few_episodes_not_at_all() {
        let two = |i: usize| if i.is_multiple_of(2) { 5.0 } else { 50.0 };
        let mut durations: Vec<f64> = (0..40).map(two).collect();
        assert!(odd(&measured(&durations, &["sow", "plant"])).is_empty());
        durations[6] = 50.0;
        assert_eq!(odd(&measured(&durations, &["sow", "plant"])), [6]);
        let few = measured(&durations[..9], &[]);
        assert!(few.episodes.is_empty() && few.not_assessed[0].reason.contains("needs 10"));
    }
}
