//! In which episodes does something stop a joint that nothing stops in the others?
//!
//! An obstacle in the path: the leader goes on, the follower cannot, and the state is not what the
//! action asks for. A strong arm pushes on without a trip.
//!
//! How: how far the leader went on while something held the follower for 0.24 s (see
//! external disturbance), joint by joint, against the task's episodes: odd is more than 8 degrees, and
//! more than three times their median. The reading is the smaller of the two as a multiple.
//!
//! Traps: contact that belongs to the task (polishing, fingers on an object) is in all episodes, and
//! is usual here. A joint that is stopped in more than 30 % of the episodes is not reported. What lost
//! its torque, stands at a limit or was read wrongly departs as far: those causes are named instead. Linear joints
//! are left out. Fewer than 10 episodes of a task are not assessed.

use super::rows::{groups, reading, series};
use super::usual::{ENOUGH, TOLD};
use crate::check::tracking::external_disturbance;
use crate::check::{Check, CohortSheet, MetricOf, Params};
use crate::model::{CheckSpec, Family, Ledger, Metric, Unit, count};
use crate::num::robust::median;

static CONTACT: Metric = Metric::of_joint(
    "contact_oddness",
    Unit::Ratio,
    "how much farther the leader went on without the follower, as a multiple of what is odd",
)
.above(Some(1.0), Some(1.5));

static SPEC: CheckSpec = CheckSpec {
    id: "contact-outlier",
    family: Family::Session,
    applies_to: crate::model::SignalKind::MOVING,
    needs: crate::model::Relation::Target,
    advisory: false,
    source: include_str!("contact_outlier.rs"),
    cause: "something was in the way of the follower in this episode: an obstacle, a cable, a person",
    remedy: "look at the frames; clear the path and record the episode again",
    reference: "limits by engineering judgement, no source",
    metrics: &[&CONTACT],
    params: &[],
};

/// Odd is more than this, and this many times the usual.
const FAR_DEG: f64 = 8.0;
const TIMES: f64 = 3.0;
/// What stops the joint in more episodes than this is part of the task.
const SHARE: f64 = 0.3;

/// The check; the head of this file is its manual.
pub static CHECK: Check = Check::of_session(&SPEC, measure);

fn measure(ledger: &Ledger, _: &Params, sheet: &mut CohortSheet<'_>) {
    let blocked = MetricOf::new(&external_disturbance::CHECK, &external_disturbance::BLOCKED);
    let mut most = 0;
    for rows in groups(ledger) {
        for series in series(ledger, blocked, &rows) {
            most = most.max(series.rows.len());
            if series.rows.len() < ENOUGH {
                continue;
            }
            let usual = median(&series.values);
            let odd = |far: f64| (far / FAR_DEG.to_radians()).min(far / (TIMES * usual).max(1e-9));
            let stopped = series.values.iter().filter(|far| odd(**far) > 1.0).count();
            let task = stopped as f64 > SHARE * series.values.len() as f64;
            for (&row, &far) in series.rows.iter().zip(&series.values) {
                let odd = if task { odd(far).min(1.0) } else { odd(far) };
                let (now, then) = (far.to_degrees(), usual.to_degrees());
                let words = || format!("{now:.0} deg without the follower, usually {then:.1} deg");
                let note = if odd > TOLD { words() } else { String::new() };
                sheet.tell(row, reading(&SPEC, &CONTACT, series.joint, odd), note);
            }
        }
    }
    if sheet.told() == 0 {
        let reason = format!("{} of a task with a leader, needs {ENOUGH}", count(most, "episode"));
        sheet.not_assessed(&SPEC, reason);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::{JointId, Reading, Row};

    /// Episodes by how far the leader of two joints went on, degrees; those that are odd.
    fn odd(episodes: &[[f64; 2]]) -> Vec<(usize, Option<JointId>)> {
        let spec = external_disturbance::CHECK.spec;
        let mut ledger = Ledger::default();
        for far in episodes {
            let one = |joint: usize| -> Reading {
                let metric = &external_disturbance::BLOCKED;
                reading(spec, metric, Some(joint as JointId), far[joint].to_radians())
            };
            ledger.push(Row { frames: 300, ..Row::default() }, &[one(0), one(1)]);
        }
        let mut sheet = CohortSheet::default();
        CHECK.measure_session(&ledger, &Params::default(), &mut sheet);
        let beyond = sheet.episodes.iter().filter(|e| e.1.value > 1.0);
        beyond.map(|(row, reading, _)| (*row, reading.joint)).collect()
    }

    #[test]
    fn the_episode_and_the_joint_that_met_something_are_named() {
        let mut episodes = vec![[0.5, 2.0]; 30];
        assert!(odd(&episodes).is_empty());
        episodes[4] = [0.5, 13.0];
        episodes[9] = [20.0, 2.0];
        assert_eq!(odd(&episodes), [(9, Some(0)), (4, Some(1))]);
        // Not far enough; and not three times the usual.
        episodes[4] = [0.5, 7.5];
        episodes[9] = [0.5, 2.0];
        assert!(odd(&episodes).is_empty());
        let mut contact = vec![[0.5, 10.0]; 30];
        contact[3][1] = 28.0;
        assert!(odd(&contact).is_empty());
    }

    #[test]
    fn contact_that_belongs_to_the_task_is_usual() {
        let at = |i: usize| if i.is_multiple_of(2) { 20.0 } else { 1.0 };
        let fingers: Vec<[f64; 2]> = (0..30).map(|i| [0.2, at(i)]).collect();
        assert!(odd(&fingers).is_empty());
        assert!(odd(&[[0.5, 30.0]; 9]).is_empty());
    }
}
