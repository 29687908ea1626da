//! Do demonstrations command the same where the arm is in the same state?
//!
//! Where two demonstrations contradict each other, a policy learns the mean of both, which is often
//! neither. Nothing is judged: the reading is a rank within the task, to look at or to sort by.
//!
//! How: at up to 17 moments evenly spaced in time, the command is the leader's position less the
//! follower's. It is held against those of the five nearest moments of other episodes of the task:
//! nearest in the follower's positions and speeds, each in its own standard deviations. The reading
//! is the root of the mean square difference, joints in standard deviations of their command, over
//! what it is between any two moments: near 0 where all agree, 1 where the state says nothing of
//! the command. In addition, the share of the task's other episodes that agree better. Moments more
//! than a standard deviation (root mean square) from their fifth neighbour are left out, so is an
//! episode with fewer than half of its moments left. Of more than 100 episodes a random sample are
//! the ones compared with; of more than 23,500 eight moments are looked at, of more than 50,000
//! four, and beyond 100,000 the sample shrinks, to no fewer than 25.
//!
//! Traps: joints do not say where the object lies: going left for one and right for another is good
//! variety and reads as contradiction. Noise, lag and grasp force differ as well. Episodes of a task
//! without a task column are compared across tasks. Fewer than 10 episodes of a task have no rank.

use super::paths::some_of;
use super::rows::{reading, series};
use crate::check::mapping::action_kind;
use crate::check::{Check, CohortSheet, MetricOf, Params};
use crate::model::{CheckSpec, Family, LEADER_POSES, Ledger, Metric, Param, Unit, count};
use crate::num::robust::median;

mod commands;
mod neighbours;
#[cfg(test)]
mod tests;

use commands::Commands;
use neighbours::Neighbours;

static SCATTER: Metric = Metric::of_episode(
    "command_scatter",
    Unit::Ratio,
    "difference from the commands of others in like states, over that of any two moments",
);
static RANK: Metric = Metric::of_episode(
    "less_consistent_than",
    Unit::Ratio,
    "share of the task's other episodes that agree better with others in like states",
);
static NEIGHBOURS: Param = Param {
    id: "neighbours",
    summary: "most episodes compared with; of more, a random sample of this many",
    unit: Unit::Count,
    default: 100.0,
};

static SPEC: CheckSpec = CheckSpec {
    id: "action-consistency",
    family: Family::Session,
    applies_to: crate::model::SignalKind::MOVING,
    needs: crate::model::Relation::Target,
    advisory: true,
    source: include_str!("action_consistency.rs"),
    cause: "the operator did it another way than in the other episodes",
    remedy: "look at the last in rank; settle on one way to do the task",
    reference: "action variance among neighbours: Belkhale et al. 2023, arXiv 2306.02437; their \
                exact formulas are from memory, scales and neighbours are our own",
    metrics: &[&SCATTER, &RANK],
    params: &[&NEIGHBOURS],
};

/// Fewer episodes have no rank.
const ENOUGH: usize = 10;
/// Moments looked at in one task, at most, but for four of each episode.
const LOOKS: usize = 400_000;
/// Episodes compared with, at least, where even these are many.
const FEWEST: usize = 25;
/// From this margin on, the action is a change of position (see action-kind).
const DELTA: f64 = 0.3;

/// The check; the head of this file is its manual.
pub static CHECK: Check = Check::of_session(&SPEC, measure).looking_at_motion().only_readings();

fn measure(ledger: &Ledger, params: &Params, sheet: &mut CohortSheet<'_>) {
    let most = params.get(&SPEC, &NEIGHBOURS).max(ENOUGH as f64) as usize;
    let all: Vec<usize> = (0..ledger.rows()).collect();
    let kinds =
        series(ledger, MetricOf::new(&action_kind::CHECK, &action_kind::DELTA_MARGIN), &all);
    if kinds.iter().any(|margins| median(&margins.values) > DELTA) {
        return sheet.not_assessed(&SPEC, "the action is a change of position, not a position");
    }
    let (mut few, mut alone, mut said) = (0, 0, false);
    for (_, rows) in ledger.rows_by_task() {
        let commands = Commands::of(ledger, &rows);
        if commands.rows.len() < ENOUGH {
            few = few.max(commands.rows.len());
            continue;
        }
        said = true;
        let (step, most) = effort(commands.rows.len(), most);
        let chosen = some_of(commands.rows.len(), most);
        let Some(neighbours) = Neighbours::of(&commands, &chosen) else {
            sheet.not_assessed(&SPEC, "leader and follower never differ");
            return;
        };
        let read = scatters(&commands, &neighbours, step);
        alone += commands.rows.len() - read.len();
        write(&read, sheet);
    }
    if !said {
        sheet.not_assessed(
            &SPEC,
            format!("{} of a task with a leader, needs {ENOUGH}", count(few, "episode")),
        );
    } else if alone > 0 {
        sheet.not_assessed(
            &SPEC,
            format!("episodes mostly in states that no other was in: {alone}"),
        );
    }
}

/// How many moments on each next one looked at is, and with how many episodes it is compared, so
/// that large sessions do not take too long.
fn effort(episodes: usize, most: usize) -> (usize, usize) {
    let looks = |step: usize| episodes * (LEADER_POSES - step / 2).div_ceil(step);
    let step = [1, 2].into_iter().find(|step| looks(*step) <= LOOKS).unwrap_or(4);
    let few = (most as f64 * (LOOKS as f64 / looks(step) as f64).min(1.0)) as usize;
    (step, few.max(most.min(FEWEST)))
}

/// The reading of each episode that has one, by its row.
fn scatters(commands: &Commands<'_>, neighbours: &Neighbours, step: usize) -> Vec<(usize, f64)> {
    let mut room = neighbours.room();
    let of = |at: usize| {
        let (mut sum, mut read, mut looked) = (0.0, 0, 0);
        // Of a few, none at the ends: an arm at rest says little.
        for moment in (step / 2..LEADER_POSES).step_by(step) {
            looked += 1;
            if let Some(square) = neighbours.difference(commands, at, moment, &mut room) {
                sum += square;
                read += 1;
            }
        }
        // Any two moments differ by twice the variance, which is one.
        let value = (sum / (2.0 * f64::from(read))).sqrt();
        (2 * read >= looked && value.is_finite()).then_some((commands.rows[at], value))
    };
    (0..commands.rows.len()).filter_map(of).collect()
}

fn write(read: &[(usize, f64)], sheet: &mut CohortSheet) {
    let mut sorted: Vec<f64> = read.iter().map(|(_, value)| *value).collect();
    sorted.sort_by(f64::total_cmp);
    let others = sorted.len().saturating_sub(1).max(1) as f64;
    for &(row, value) in read {
        let better = sorted.partition_point(|other| *other < value) as f64 / others;
        for (metric, value) in [(&SCATTER, value), (&RANK, better)] {
            sheet.tell(row, reading(&SPEC, metric, None, value), String::new());
        }
    }
}
