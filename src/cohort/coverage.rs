//! How varied are the poses in which episodes start, grasp and end?
//!
//! A policy knows what it was shown. Grasps that all lie on one line, or one end pose, teach one
//! place; a start that never varies leaves it helpless wherever the arm begins elsewhere. Nothing is
//! judged: how much variety a task needs, the data cannot say.
//!
//! How: the follower's joints (grippers left out) at the first pose, at the last, and where
//! something is first held. Of each: the standard deviation (root of the mean square distance from the mean
//! pose, all joints together) and in how many directions it goes, the effective rank (exponential
//! of the entropy of the directions' shares of the variance). Directions that vary by less than a
//! degree do not count: noise and a sloppy home fill them all; none left is one pose. Within one
//! task; of several, the reading is that of the task with the smallest standard deviation.
//!
//! Traps: grasp poses are found where grasp saw one: the first of 17 poses evenly spaced in time at
//! which the jaw stands and the leader's is beyond it by at least half its largest gap, so the arm
//! may have been up to a sixteenth of the episode on its way. Without a joint known to be a gripper
//! there are none. Objects may vary where no joint sees it. Linear joints count in metres. Fewer
//! than 10 episodes of a task say nothing; few more still read too few directions.

use std::fmt::Write as _;
use std::sync::Arc;

use crate::check::{Check, CohortSheet, Params};
use crate::model::{
    CheckSpec, Family, Ledger, Metric, NotAssessed, Param, Reading, SessionReading, SpanList, Unit,
    count,
};
use crate::num::covariance::Points;
use crate::num::dispersion::{Dispersion, dispersion};

mod poses;
#[cfg(test)]
mod tests;

use poses::{Grippers, Place, Poses};

const fn rank(id: &'static str, summary: &'static str) -> Metric {
    Metric::of_episode(id, Unit::Ratio, summary)
}

const fn size(id: &'static str, summary: &'static str) -> Metric {
    Metric::of_episode(id, Unit::Radian, summary)
}

static START_SPREAD: Metric =
    size("start_spread", "standard deviation of the first poses about their mean");
static START_RANK: Metric = rank("start_rank", "directions in which the first poses vary");
static GRASP_SPREAD: Metric =
    size("grasp_spread", "standard deviation of the poses in which something is first held");
static GRASP_RANK: Metric = rank("grasp_rank", "directions in which those poses vary");
static END_SPREAD: Metric =
    size("end_spread", "standard deviation of the last poses about their mean");
static END_RANK: Metric = rank("end_rank", "directions in which the last poses vary");
static LEAST: Param = Param {
    id: "least_deviation",
    summary: "a direction counts from this standard deviation on",
    unit: Unit::Radian,
    default: std::f64::consts::PI / 180.0,
};

static SPEC: CheckSpec = CheckSpec {
    id: "coverage",
    family: Family::Session,
    applies_to: crate::model::SignalKind::MOVING,
    needs: crate::model::Relation::Nothing,
    advisory: true,
    source: include_str!("coverage.rs"),
    cause: "the scene was set up alike for every episode",
    remedy: "vary where things lie and where the arm starts as much as they will vary in use",
    reference: "effective rank: Roy & Vetterli 2007, EUSIPCO, 606-610 (from memory); the degree: \
                engineering judgement",
    metrics: &[&START_SPREAD, &START_RANK, &GRASP_SPREAD, &GRASP_RANK, &END_SPREAD, &END_RANK],
    params: &[&LEAST],
};

/// Fewer episodes have no useful standard deviation.
const ENOUGH: usize = 10;

/// The check; the head of this file is its manual.
pub static CHECK: Check = Check::of_session(&SPEC, measure).looking_at_motion();

fn measure(ledger: &Ledger, params: &Params, sheet: &mut CohortSheet<'_>) {
    let smallest = params.get(&SPEC, &LEAST);
    let grippers = Grippers::of(ledger);
    let tasks = ledger.rows_by_task();
    for place in [Place::Start, Place::Grasp, Place::End] {
        if place == Place::Grasp && grippers.joints.is_empty() {
            continue;
        }
        let (mut most, mut narrowest) = (0, None);
        for (task, rows) in &tasks {
            let poses = Poses::of(ledger, rows, place, &grippers);
            most = most.max(poses.episodes);
            if poses.episodes < ENOUGH {
                continue;
            }
            let points = Points::new(&poses.values, poses.joints).ok();
            let Some(spread) = points.and_then(|points| dispersion(points, smallest)) else {
                continue;
            };
            let found = Found { task: task.clone(), spread, poses, of: rows.len() };
            let narrower = |n: &Found| found.spread.size < n.spread.size;
            if narrowest.as_ref().is_none_or(narrower) {
                narrowest = Some(found);
            }
        }
        match (narrowest, place) {
            (Some(found), _) => found.write(place, tasks.len(), &grippers, sheet),
            (None, Place::Start) => {
                // The last poses are those of the same episodes.
                return sheet.not_assessed(
                    &SPEC,
                    format!("{} of a task, needs {ENOUGH}", count(most, "episode")),
                );
            }
            (None, Place::Grasp) => {
                let reason =
                    format!("{} of a task with a grasp, needs {ENOUGH}", count(most, "episode"));
                let joint = grippers.joints.first().copied();
                sheet.not_assessed.push(NotAssessed { check: &SPEC, joint, reason: reason.into() });
            }
            (None, Place::End) => sheet.not_assessed(&SPEC, "last poses were not read"),
        }
    }
}

/// What was found of one task.
struct Found {
    task: Option<Arc<str>>,
    spread: Dispersion,
    poses: Poses,
    of: usize,
}

impl Found {
    fn write(&self, place: Place, tasks: usize, grippers: &Grippers, sheet: &mut CohortSheet) {
        let (what, size, rank) = match place {
            Place::Start => ("starts", &START_SPREAD, &START_RANK),
            Place::Grasp => ("grasps", &GRASP_SPREAD, &GRASP_RANK),
            Place::End => ("ends", &END_SPREAD, &END_RANK),
        };
        let Dispersion { size: spread, rank: directions } = self.spread;
        let degrees = spread.to_degrees();
        let mut note = if directions > 0.0 {
            let joints = self.poses.joints;
            format!("{what} vary by {degrees:.1} deg in {directions:.1} of {joints} directions")
        } else {
            format!("{what} in one pose ({degrees:.1} deg)")
        };
        if let Some(task) = self.task.as_ref().filter(|_| tasks > 1) {
            let _ = write!(note, " (task {task}, the narrowest of {tasks})");
        }
        if place == Place::Start && grippers.joints.is_empty() {
            note.push_str("; no grasps, as no joint is known to be a gripper");
        }
        for (metric, value, note) in [(size, spread, Some(note.into())), (rank, directions, None)] {
            let spans = SpanList::default();
            let reading = Reading { check: &SPEC, metric, joint: None, value, spans, note };
            let (episodes, of) = (self.poses.episodes as u64, self.of as u64);
            sheet.session.push(SessionReading { reading, from: None, episodes, of });
        }
    }
}
