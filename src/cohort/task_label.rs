//! Does an episode's motion look like another task than its label says?
//!
//! A wrong label teaches the policy to do one thing when another is asked for.
//!
//! How: the follower's paths (drawn as for path-outlier, their ends included) are compared across tasks.
//! The reading is the share of the five nearest episodes that are of the same other task; four of
//! five disagree with the label, and the nearest of them is named. Of more than 1,000 episodes a
//! random sample, as many of each task, are the ones compared with. Tasks with fewer than 10
//! episodes take no part.
//!
//! Traps: tasks that are alike in joint space (the same motion with another object) cannot be
//! distinguished: a task of which fewer than three in four episodes have most of their nearest in it is not
//! assessed, and has no vote. Linear joints count in metres.

use super::paths::{Neighbours, Paths, some_of};
use crate::check::{Check, CohortSheet, Params};
use crate::model::{CheckSpec, Family, Ledger, Metric, Reading, SpanList, Unit, count};

static OTHER: Metric = Metric::of_episode(
    "other_task",
    Unit::Ratio,
    "share of the nearest episodes that are of one other task",
)
.above(Some(0.7), None);

static SPEC: CheckSpec = CheckSpec {
    id: "task-label",
    family: Family::Session,
    applies_to: crate::model::SignalKind::MOVING,
    needs: crate::model::Relation::Nothing,
    advisory: true,
    source: include_str!("task_label.rs"),
    cause: "the episode was given another task's label",
    remedy: "look at the episode and set its task right",
    reference: "disagreement of the k nearest: Wilson 1972, IEEE Transactions on Systems, Man, and \
                Cybernetics 2(3), 408-421",
    metrics: &[&OTHER],
    params: &[],
};

/// Episodes that a task needs.
const ENOUGH: usize = 10;
/// Neighbours that vote.
const VOTES: usize = 5;
/// Most neighbours of all tasks together.
const MOST: usize = 1_000;
/// Share of a task's episodes that must have most of their nearest in it.
const APART: f64 = 0.75;

/// The check; the head of this file is its manual.
pub static CHECK: Check = Check::of_session(&SPEC, measure).looking_at_motion();

fn measure(ledger: &Ledger, _: &Params, sheet: &mut CohortSheet<'_>) {
    let groups = ledger.rows_by_task();
    if groups.len() < 2 {
        sheet.not_assessed(&SPEC, "one task, or no task column: needs two tasks");
        return;
    }
    let all: Vec<usize> = (0..ledger.rows()).collect();
    let paths = Paths::of(ledger, &all);
    let mut tasks: Vec<Vec<usize>> = groups
        .iter()
        .filter(|(task, _)| task.is_some())
        .map(|(_, rows)| rows.iter().filter_map(|row| paths.place(*row)).collect())
        .collect();
    tasks.retain(|places: &Vec<usize>| places.len() >= ENOUGH);
    let many = tasks.len();
    let votes = Votes::of(&paths, &mut tasks);
    if tasks.len() < 2 {
        let reason = if many < 2 {
            format!("{} with {ENOUGH} episodes, needs 2", count(many, "task"))
        } else {
            format!("{many} tasks whose motions are alike")
        };
        sheet.not_assessed(&SPEC, reason);
        return;
    }
    if tasks.len() < many {
        sheet.not_assessed(&SPEC, format!("{} tasks whose motions are alike", many - tasks.len()));
    }
    votes.write(&tasks, sheet);
}

/// How the nearest of each episode vote.
struct Votes<'a> {
    paths: &'a Paths<'a>,
    /// Index of the task of each path; none for one that takes no part.
    task_of: Vec<Option<usize>>,
    neighbours: Neighbours,
}

impl<'a> Votes<'a> {
    /// Leaves in `tasks` only those that can be distinguished from the others.
    fn of(paths: &'a Paths<'a>, tasks: &mut Vec<Vec<usize>>) -> Self {
        loop {
            let mut task_of = vec![None; paths.len()];
            for (task, places) in tasks.iter().enumerate() {
                for &at in places {
                    task_of[at] = Some(task);
                }
            }
            let each = (MOST / tasks.len().max(1)).max(ENOUGH);
            let some = |places: &Vec<usize>| {
                some_of(places.len(), each).into_iter().map(|at| places[at]).collect::<Vec<_>>()
            };
            let neighbours = paths.neighbours(tasks.iter().flat_map(some).collect());
            let votes = Self { paths, task_of, neighbours };
            let shares: Vec<f64> = tasks.iter().map(|places| votes.own(&some(places))).collect();
            let worst = (0..shares.len()).min_by(|a, b| shares[*a].total_cmp(&shares[*b]));
            match worst.filter(|worst| shares[*worst] < APART) {
                // The one hardest to distinguish goes first: without it the others may stand apart.
                Some(worst) => drop(tasks.remove(worst)),
                None => return votes,
            }
        }
    }

    fn nearest(&self, at: usize) -> Vec<(usize, usize)> {
        let near = self.neighbours.nearest(&self.paths.draw(at), at, VOTES);
        let places = near.into_iter().map(|(_, neighbour)| self.neighbours.places[neighbour]);
        places.filter_map(|other| Some((self.task_of[other]?, other))).collect()
    }

    /// Share of these episodes that have most of their nearest in their own task.
    fn own(&self, places: &[usize]) -> f64 {
        let most = |at: &&usize| {
            let near = self.nearest(**at);
            let own = near.iter().filter(|(task, _)| self.task_of[**at] == Some(*task)).count();
            2 * own > near.len()
        };
        places.iter().filter(most).count() as f64 / places.len().max(1) as f64
    }

    fn write(&self, tasks: &[Vec<usize>], sheet: &mut CohortSheet) {
        let mut places: Vec<usize> = tasks.iter().flatten().copied().collect();
        places.sort_unstable();
        for at in places {
            let near = self.nearest(at);
            let of = |task: usize| near.iter().filter(|(of, _)| *of == task).count();
            let others = (0..tasks.len()).filter(|task| self.task_of[at] != Some(*task));
            let most = others.max_by_key(|task| of(*task)).unwrap_or(0);
            let value = of(most) as f64 / near.len().max(1) as f64;
            let like = near.iter().find(|(task, _)| *task == most);
            let note = like.filter(|_| value > 0.5);
            let note = note.map_or_else(String::new, |(_, other)| {
                format!("most like#{}", self.paths.rows[*other])
            });
            let spans = SpanList::default();
            let reading =
                Reading { check: &SPEC, metric: &OTHER, joint: None, value, spans, note: None };
            sheet.tell(self.paths.rows[at], reading, note);
        }
    }
}

#[cfg(test)]
mod tests {
    use std::sync::Arc;

    use super::*;
    use crate::cohort::motions::{above, push, read, sound};
    use crate::demo::{DemoError, Simulator};

    /// A session of two tasks, the second mirrored in its first joints unless `alike`; the label of
    /// some episodes is the other one's.
    fn session(
        seed: u64,
        episodes: u64,
        wrong: &[u64],
        alike: bool,
    ) -> Result<CohortSheet<'static>, DemoError> {
        let simulator = Simulator::new(&sound(seed, episodes))?;
        let rig = Arc::new(simulator.recipe().rig());
        let mut ledger = Ledger::default();
        for id in 0..episodes {
            let mut recording = simulator.episode(id);
            let second = id % 2 == 1;
            if second && !alike {
                for joint in 0..4 {
                    let start = recording.follower[joint][0];
                    recording.follower[joint].iter_mut().for_each(|v| *v = 2.0 * start - *v);
                }
            }
            let mut episode = recording.episode(&rig);
            let labelled_second = second != wrong.contains(&id);
            episode.key.task = Some(if labelled_second { "prune".into() } else { "pot".into() });
            push(&mut ledger, &episode);
        }
        Ok(read(&CHECK, &ledger))
    }

    #[test]
    fn right_labels_are_left_alone_and_wrong_ones_are_named() -> Result<(), DemoError> {
        for seed in 0..12 {
            for episodes in [24, 100] {
                let sheet = session(seed, episodes, &[], false)?;
                assert!(sheet.not_assessed.is_empty() && sheet.episodes.len() == episodes as usize);
                assert!(above(&sheet, "other_task", 0.7).is_empty(), "{seed}");
                let sheet = session(seed, episodes, &[3, 8], false)?;
                assert_eq!(above(&sheet, "other_task", 0.7), [3, 8], "{seed}");
                assert!(sheet.episodes[3].2.starts_with("most like#"));
            }
        }
        Ok(())
    }

    #[test]
    fn tasks_that_look_the_same_and_small_ones_are_not_assessable() -> Result<(), DemoError> {
        for seed in 0..6 {
            let sheet = session(seed, 60, &[], true)?;
            assert!(sheet.episodes.is_empty());
            assert_eq!(sheet.not_assessed[0].reason, "2 tasks whose motions are alike", "{seed}");
        }
        let sheet = session(1, 18, &[], false)?;
        assert_eq!(sheet.not_assessed[0].reason, "0 tasks with 10 episodes, needs 2");
        let one = read(&CHECK, &Ledger::default());
        assert_eq!(one.not_assessed[0].reason, "one task, or no task column: needs two tasks");
        Ok(())
    }
}
