//! In which episodes does a joint of the leader stick-slip more than in the others?
//!
//! Stick-slip, a sticky bearing or a loose handle that comes and goes is learnt as part of the task.
//!
//! How: the share of the leader's motion above 8 Hz (see leader stick-slip), joint by joint, against
//! the median of the task's episodes: odd is more than twice as much, and at least one part in a
//! hundred more, and farther off than a Student's t with 8 degrees of freedom would be, on the arcsine
//! scale of shares, in one sound session of a hundred of this size. The reading is the smallest of
//! these three as a multiple.
//!
//! Traps: a leader that chatters in all episodes is usual here: compare it with a session in which
//! it did not. The share grows with the rate and falls with the pace of motion. Fewer than 10
//! episodes of a task are not assessed.

use super::rows::{groups, reading, series};
use super::usual::{BOUNDED, ENOUGH, TOLD, Usual};
use crate::check::signal::leader_stick_slip;
use crate::check::{Check, CohortSheet, MetricOf, Params};
use crate::model::{CheckSpec, Family, Ledger, Metric, Unit, count};

static ODDNESS: Metric = Metric::of_joint(
    "chatter_oddness",
    Unit::Ratio,
    "how much more the leader chatters than usual, as a multiple of what is odd",
)
.above(Some(1.0), None);

static SPEC: CheckSpec = CheckSpec {
    id: "stick-slip-outlier",
    family: Family::Session,
    applies_to: crate::model::SignalKind::ALL,
    needs: crate::model::Relation::Nothing,
    advisory: true,
    source: include_str!("stick_slip_outlier.rs"),
    cause: "stick-slip, a sticky bearing or a loose handle of the leader, in this episode",
    remedy: "grease the joint, tighten the handle; look at the episodes after it",
    reference: "common practice, no source; the cut-off by simulation",
    metrics: &[&ODDNESS],
    params: &[],
};

/// Odd is more than this many times the usual share, and this much more of it.
const TIMES: f64 = 2.0;
const MORE: f64 = 0.01;
/// Smallest standard deviation on the arcsine scale, on which all shares scatter alike.
const LEAST: f64 = 0.02;

/// The check; the head of this file is its manual.
pub static CHECK: Check = Check::of_session(&SPEC, measure);

fn measure(ledger: &Ledger, _: &Params, sheet: &mut CohortSheet<'_>) {
    let mut most = 0;
    for rows in groups(ledger) {
        let all = series(
            ledger,
            MetricOf::new(&leader_stick_slip::CHECK, &leader_stick_slip::CHATTER),
            &rows,
        );
        let looks = all.len() * ledger.rows();
        for series in &all {
            most = most.max(series.rows.len());
            let angle = |share: f64| share.clamp(0.0, 1.0).sqrt().asin();
            let angles: Vec<f64> = series.values.iter().map(|v| angle(*v)).collect();
            let Some(usual) = Usual::of(&angles, LEAST, looks, BOUNDED) else { continue };
            let middle = usual.centre.sin().powi(2);
            for (&row, share) in series.rows.iter().zip(&series.values) {
                let times = share / (TIMES * middle.max(f64::MIN_POSITIVE));
                let clear = usual.above(angle(*share));
                let odd = times.min((share - middle) / MORE).min(clear).max(0.0);
                let (now, then) = (100.0 * share, 100.0 * middle);
                let words = || format!("{now:.1} % of its motion, usually {then:.1} %");
                let note = if odd > TOLD { words() } else { String::new() };
                sheet.tell(row, reading(&SPEC, &ODDNESS, series.joint, odd), note);
            }
        }
    }
    if sheet.told() == 0 {
        let reason =
            format!("{} of a task with a leader in motion, needs {ENOUGH}", count(most, "episode"));
        sheet.not_assessed(&SPEC, reason);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::{JointId, Reading, Row};

    fn odd(episodes: &[[f64; 2]]) -> Vec<(usize, Option<JointId>)> {
        let spec = leader_stick_slip::CHECK.spec;
        let mut ledger = Ledger::default();
        for shares in episodes {
            let one = |joint: usize| -> Reading {
                reading(spec, spec.metrics[0], Some(joint as JointId), shares[joint])
            };
            ledger.push(Row { frames: 300, ..Row::default() }, &[one(0), one(1)]);
        }
        let mut sheet = CohortSheet::default();
        CHECK.measure_session(&ledger, &Params::default(), &mut sheet);
        let beyond = sheet.episodes.iter().filter(|e| e.1.value > 1.0);
        beyond.map(|(row, reading, _)| (*row, reading.joint)).collect()
    }

    fn usual(n: usize, share: f64) -> Vec<[f64; 2]> {
        let at = |i: usize| 1.0 + 0.3 * ((i * 7 % 20) as f64 / 20.0 - 0.5);
        (0..n).map(|i| [share * at(i), 2.0 * share * at(i + 3)]).collect()
    }

    #[test]
    fn the_episode_and_the_joint_are_named() {
        let mut episodes = usual(30, 0.02);
        assert!(odd(&episodes).is_empty());
        episodes[4][1] = 0.5;
        assert_eq!(odd(&episodes), [(4, Some(1))]);
        // Half as much again is not twice.
        episodes[4][1] = 0.06;
        assert!(odd(&episodes).is_empty());
    }

    #[test]
    fn many_times_nothing_is_nothing() {
        let mut episodes = usual(30, 0.0004);
        episodes[4][0] = 0.008;
        assert!(odd(&episodes).is_empty());
        assert!(odd(&usual(9, 0.02)).is_empty());
    }
}
