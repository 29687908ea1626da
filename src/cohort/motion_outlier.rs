//! Which episodes are far rougher, or take far longer paths, than the others of their task?
//!
//! Rough and searching demonstrations are learnt as readily as good ones, and more of them are
//! needed.
//!
//! How: smoothness (SPARC and log dimensionless jerk, whichever is worse) and straightness, as read
//! by smoothness and path efficiency over stretches of motion, against the median of the task's
//! episodes, over a robust standard deviation (never below 0.05 of SPARC, 0.15 of jerk, 0.03 of straightness,
//! so that discretisation is nothing). It is odd if it is farther off on the bad side than a
//! Student's t with 8 degrees of freedom would be in one sound session of a hundred of this size,
//! wider for few episodes. The readings are the distances as multiples of that.
//!
//! Traps: a way round an obstacle is right, and one heavy object makes one slow, rough episode:
//! look before dropping. Smoother or straighter than the rest is no fault. Fewer than 10 episodes of
//! a task are not assessed. Where a leader's joint chatters, that is said instead.

use super::rows::{groups, reading, series};
use super::usual::{BOUNDED, ENOUGH, TOLD, Usual};
use crate::check::motion::{path_efficiency, smoothness};
use crate::check::{Check, CohortSheet, MetricOf, Params};
use crate::model::{CheckSpec, Family, Ledger, Metric, Unit, count};

static ROUGHNESS: Metric = Metric::of_episode(
    "roughness_oddness",
    Unit::Ratio,
    "how much rougher than usual, as a multiple of what is odd",
)
.above(Some(1.0), None);
static DETOUR: Metric = Metric::of_episode(
    "detour_oddness",
    Unit::Ratio,
    "how much less straight than usual, as a multiple of what is odd",
)
.above(Some(1.0), None);

static SPEC: CheckSpec = CheckSpec {
    id: "motion-outlier",
    family: Family::Session,
    applies_to: crate::model::SignalKind::ALL,
    needs: crate::model::Relation::Nothing,
    advisory: true,
    source: include_str!("motion_outlier.rs"),
    cause: "the hand searched, corrected itself or shook",
    remedy: "compare the episode with an ordinary one; record it again if it is not the task",
    reference: "Balasubramanian et al. 2015, doi 10.1186/s12984-015-0090-9; robust z-score, \
                Iglewicz & Hoaglin 1993; the cut-off by simulation",
    metrics: &[&ROUGHNESS, &DETOUR],
    params: &[],
};

/// Measurement, the smallest standard deviation that matters, and what it says. Of all of them more is
/// better.
static LOOKED_AT: [(MetricOf, f64, &Metric); 3] = [
    (MetricOf::new(&smoothness::CHECK, &smoothness::SPARC), 0.05, &ROUGHNESS),
    (MetricOf::new(&smoothness::CHECK, &smoothness::JERK), 0.15, &ROUGHNESS),
    (MetricOf::new(&path_efficiency::CHECK, &path_efficiency::STRAIGHTNESS), 0.03, &DETOUR),
];

/// How odd, by which measurement, what was read, and what is usual.
type Worst = (f64, &'static str, f64, f64);

/// The check; the head of this file is its manual.
pub static CHECK: Check = Check::of_session(&SPEC, measure);

fn measure(ledger: &Ledger, _: &Params, sheet: &mut CohortSheet<'_>) {
    let looks = LOOKED_AT.len() * ledger.rows();
    let mut most = 0;
    for metric in [&ROUGHNESS, &DETOUR] {
        // The worst of each episode.
        let mut worst: Vec<Option<Worst>> = vec![None; ledger.rows()];
        let of_metric = || LOOKED_AT.iter().filter(|l| l.2.is(metric));
        for rows in groups(ledger) {
            for &(what, smallest, _) in of_metric() {
                for series in series(ledger, what, &rows) {
                    most = most.max(series.rows.len());
                    let Some(usual) = Usual::of(&series.values, smallest, looks, BOUNDED) else {
                        continue;
                    };
                    for (&row, &value) in series.rows.iter().zip(&series.values) {
                        let odd = -usual.above(value);
                        if worst[row].is_none_or(|known| known.0 < odd) {
                            worst[row] = Some((odd, what.metric.id, value, usual.centre));
                        }
                    }
                }
            }
        }
        for (row, worst) in worst.into_iter().enumerate() {
            let Some((odd, id, value, centre)) = worst else { continue };
            let words = || format!("{id} {value:.2}, usually {centre:.2}");
            let note = if odd > TOLD { words() } else { String::new() };
            sheet.tell(row, reading(&SPEC, metric, None, odd.max(0.0)), note);
        }
    }
    if sheet.told() == 0 {
        let reason = format!(
            "{} of a task with stretches of motion, needs {ENOUGH}",
            count(most, "episode")
        );
        sheet.not_assessed(&SPEC, reason);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::{Reading, Row};

    fn ledger(episodes: &[[f64; 3]]) -> Ledger {
        let mut ledger = Ledger::default();
        for values in episodes {
            let one = |(look, value): (&(MetricOf, f64, &Metric), &f64)| {
                reading(look.0.check, look.0.metric, None, *value)
            };
            let readings: Vec<Reading> = LOOKED_AT.iter().zip(values).map(one).collect();
            ledger.push(Row { frames: 300, ..Row::default() }, &readings);
        }
        ledger
    }

    fn odd(episodes: &[[f64; 3]]) -> Vec<(usize, &'static str, String)> {
        let mut sheet = CohortSheet::default();
        CHECK.measure_session(&ledger(episodes), &Params::default(), &mut sheet);
        let beyond = sheet.episodes.into_iter().filter(|e| e.1.value > 1.0);
        beyond.map(|(row, reading, note)| (row, reading.metric.id, note)).collect()
    }

    fn usual(n: usize) -> Vec<[f64; 3]> {
        let at = |i: usize| (i * 7 % 20) as f64 / 20.0 - 0.5;
        (0..n).map(|i| [-1.6 + 0.1 * at(i), -6.5 + 0.4 * at(i), 0.8 + 0.05 * at(i)]).collect()
    }

    #[test]
    fn rough_and_roundabout_episodes_are_told_apart() {
        let mut episodes = usual(40);
        assert!(odd(&episodes).is_empty());
        episodes[5][0] = -3.5;
        episodes[9][1] = -12.0;
        episodes[20][2] = 0.2;
        // Smoother and straighter than the rest is no fault.
        episodes[30] = [-0.2, -2.0, 1.0];
        let found = odd(&episodes);
        let at: Vec<(usize, &str)> = found.iter().map(|f| (f.0, f.1)).collect();
        let rough = "roughness_oddness";
        assert_eq!(at, [(5, rough), (9, rough), (20, "detour_oddness")]);
        assert_eq!(found[0].2, "sparc -3.50, usually -1.61");
    }

    #[test]
    fn discretisation_is_nothing_and_nine_episodes_are_too_few() {
        let mut same = vec![[-1.6, -6.5, 0.9]; 40];
        same[3] = [-1.7, -6.9, 0.85];
        assert!(odd(&same).is_empty());
        let mut sheet = CohortSheet::default();
        CHECK.measure_session(&ledger(&usual(9)), &Params::default(), &mut sheet);
        assert!(sheet.episodes.is_empty() && sheet.not_assessed[0].reason.contains("needs 10"));
    }
}
