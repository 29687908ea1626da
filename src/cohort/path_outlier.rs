//! Which episodes took another path through joint space than the rest?
//!
//! Somebody did something else there: another task, another side, a detour, a plug dropped and
//! fetched. One odd episode costs a look; trained on unseen, it teaches the odd way.
//!
//! How: the follower's path of each episode is drawn as 17 points evenly along its length, so that
//! tempo and pauses do not count. Its distance from its nearest neighbours (two, in large sessions up to
//! five; root mean square over the points, all joints together) is held against those of the other
//! episodes of its task: beyond 3.5 robust sigmas of the logarithm it is odd, later in large sessions
//! (normal quantile at 0.05/n). A sigma is never taken below 0.22, so an path outlier is at least 2.2
//! times as far from its neighbours as is typical, nor above 0.4 where fewer than 20 episodes know it
//! badly; the typical distance is never taken below a degree. Of more than 500 episodes a random
//! sample are the neighbours. The joints that make the distance are named.
//!
//! Paths that fall into groups with at least three times the usual step from path to path between
//! them are counted (`path_groups`): two ways to do the task, or two tasks. Nearness to a few
//! neighbours is what counts, so a group is not a crowd of odd episodes.
//!
//! Traps: an path outlier is not a bad one; look before dropping it. Places that change from episode to
//! episode (cells of a tray) are the usual scatter. Two or more odd episodes that are like each
//! other count as a group. Linear joints count in metres, rotary ones in radians. The rest of the
//! hand's motion (tempo, pauses) is left to duration, idle-time and outlier-episode. Fewer than 6
//! episodes of a task have no usual way.

use super::paths::{Neighbours, Paths, cut_off, some_of};
use crate::check::{Check, CohortSheet, Params};
use crate::model::{CheckSpec, Family, Ledger, Metric, Param, Reading, SpanList, Unit, count};
use crate::num::quantile::median_in_place;
use crate::num::robust::{MAD_TO_SIGMA, median_mad};

mod groups;
#[cfg(test)]
mod tests;

static DISTANCE: Metric = Metric::of_episode(
    "path_distance",
    Unit::Ratio,
    "distance from its nearest neighbours' paths, as a multiple of the cut-off",
)
.above(Some(1.0), None);

static GROUPS: Metric = Metric::of_episode(
    "path_groups",
    Unit::Count,
    "groups into which the paths of one task fall; the most of any task",
);

static LEAST: Param = Param {
    id: "least_distance",
    summary: "a typical distance from path to path is never taken below this",
    unit: Unit::Radian,
    default: std::f64::consts::PI / 180.0,
};

static NEIGHBOURS: Param = Param {
    id: "neighbours",
    summary: "most episodes that say what is usual; of more, a random sample of this many does",
    unit: Unit::Count,
    default: 500.0,
};

static SPEC: CheckSpec = CheckSpec {
    id: "path-outlier",
    family: Family::Session,
    applies_to: crate::model::SignalKind::MOVING,
    needs: crate::model::Relation::Nothing,
    advisory: true,
    source: include_str!("path_outlier.rs"),
    cause: "something else was done in this episode",
    remedy: "compare the episode with an ordinary one; drop it or record it again if it is not \
             the task",
    reference: "distance to the k nearest: Ramaswamy, Rastogi & Shim 2000, SIGMOD, 427-438; \
                modified z beyond 3.5: Iglewicz & Hoaglin 1993; lower limits set on human handwriting \
                and simulated sessions",
    metrics: &[&DISTANCE, &GROUPS],
    params: &[&LEAST, &NEIGHBOURS],
};

/// Fewer episodes than this have no usual way.
const ENOUGH: usize = 6;
/// Neighbours that count: this share of the episodes, within these bounds.
const NEAREST: (f64, usize, usize) = (0.1, 2, 5);
/// A sigma of the log distance is never taken below this, nor above that if few know it.
const SIGMA: [f64; 2] = [0.22, 0.4];
/// Fewer episodes know their own scatter badly.
const KNOWN: usize = 20;
/// Most joints named.
const NAMED: usize = 2;

/// The check; the head of this file is its manual.
pub static CHECK: Check = Check::of_session(&SPEC, measure).looking_at_motion();

fn measure(ledger: &Ledger, params: &Params, sheet: &mut CohortSheet<'_>) {
    let smallest = params.get(&SPEC, &LEAST);
    let most = params.get(&SPEC, &NEIGHBOURS).max(ENOUGH as f64) as usize;
    let tasks = ledger.rows_by_task();
    let (mut few, mut most_groups) = (0, None);
    for (_, rows) in &tasks {
        let paths = Paths::of(ledger, rows);
        if paths.len() < ENOUGH {
            few += paths.len();
            continue;
        }
        Ways::learn(&paths, most, smallest).write(sheet);
        let groups = groups::sizes(&paths, smallest);
        if most_groups.as_ref().is_none_or(|most: &(Vec<usize>, usize)| most.0.len() < groups.len())
        {
            most_groups = Some((groups, paths.len()));
        }
    }
    let Some((groups, of)) = most_groups else {
        let of = if tasks.len() > 1 { " of any task" } else { "" };
        let most = tasks.iter().map(|(_, rows)| rows.len()).max().unwrap_or(0);
        let reason = format!("{}{of} with a path, needs {ENOUGH}", count(most, "episode"));
        sheet.not_assessed(&SPEC, reason);
        return;
    };
    sheet.session.push(groups::reading(&SPEC, &GROUPS, &groups, of));
    if few > 0 {
        sheet.not_assessed(
            &SPEC,
            format!("{} of tasks with fewer than {ENOUGH}", count(few, "episode")),
        );
    }
}

/// How far each path is from its nearest neighbours, and what is usual.
struct Ways<'a> {
    paths: &'a Paths<'a>,
    neighbours: Neighbours,
    nearest: usize,
    distances: Vec<f64>,
    /// From this distance on, a path is odd.
    limit: f64,
}

impl<'a> Ways<'a> {
    fn learn(paths: &'a Paths<'a>, neighbours: usize, smallest: f64) -> Self {
        let neighbours = paths.neighbours(some_of(paths.len(), neighbours));
        let (share, fewest, many) = NEAREST;
        let nearest = ((share * neighbours.places.len() as f64) as usize).clamp(fewest, many);
        let distance = |at: usize| {
            let near = neighbours.nearest(&paths.draw(at), at, nearest);
            near.iter().map(|n| f64::from(n.0)).sum::<f64>() / near.len().max(1) as f64
        };
        let distances: Vec<f64> = (0..paths.len()).map(distance).collect();
        let logs: Vec<f64> = distances.iter().map(|d| d.max(smallest).ln()).collect();
        let (typical, deviation) = median_mad(&logs);
        let most = if paths.len() < KNOWN { SIGMA[1] } else { f64::INFINITY };
        let sigma = (MAD_TO_SIGMA * deviation).max(SIGMA[0]).min(most);
        let cut = cut_off(paths.len());
        Self { paths, neighbours, nearest, distances, limit: (typical + cut * sigma).exp() }
    }

    fn write(&self, sheet: &mut CohortSheet) {
        let mut usual = None;
        for (at, distance) in self.distances.iter().enumerate() {
            let value = distance / self.limit;
            let note = if value > 1.0 {
                self.drivers(at, usual.get_or_insert_with(|| self.usual()))
            } else {
                String::new()
            };
            let spans = SpanList::default();
            let reading =
                Reading { check: &SPEC, metric: &DISTANCE, joint: None, value, spans, note: None };
            sheet.tell(self.paths.rows[at], reading, note);
        }
    }

    /// Mean square to the nearest neighbours, joint by joint.
    fn by_joint(&self, at: usize) -> Vec<f64> {
        let mut squares = vec![0.0; self.paths.joints.len()];
        let path = self.paths.draw(at);
        for (_, neighbour) in self.neighbours.nearest(&path, at, self.nearest) {
            self.neighbours.add_by_joint(&path, neighbour, &mut squares);
        }
        squares
    }

    /// What is usual of each joint.
    fn usual(&self) -> Vec<f64> {
        let some: Vec<Vec<f64>> =
            self.neighbours.places.iter().take(64).map(|&at| self.by_joint(at)).collect();
        let of = |joint: usize| {
            median_in_place(&mut some.iter().map(|squares| squares[joint]).collect::<Vec<f64>>())
        };
        (0..self.paths.joints.len()).map(of).collect()
    }

    /// The joints that make the distance, the most of it first.
    fn drivers(&self, at: usize, usual: &[f64]) -> String {
        let own = self.by_joint(at);
        let mut more: Vec<(f64, usize)> = own
            .iter()
            .zip(usual)
            .zip(&self.paths.joints)
            .map(|((own, usual), joint)| (own - usual, *joint))
            .collect();
        more.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
        let smallest = more.first().map_or(0.0, |first| first.0 / 2.0);
        let named = more.iter().take(NAMED).filter(|(more, _)| *more >= smallest);
        named.map(|(_, joint)| format!("path@{joint}")).collect::<Vec<_>>().join(", ")
    }
}
