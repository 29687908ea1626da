//! The session's numbers, one dense column per measurement and joint.

use std::sync::Arc;

use super::metric::{CheckSpec, Metric};
use super::reading::Reading;
use super::rig::JointId;
use super::sketch::Motion;
use super::sketches::Sketches;

/// Dense `f32` columns, one per metric and joint, one row per episode; `NaN` where not read.
/// With them what cohort checks ask of an episode apart from readings.
#[derive(Debug, Clone, Default)]
pub struct Ledger {
    columns: Vec<Column>,
    frames: Vec<u32>,
    duration_s: Vec<f64>,
    /// Index into `task_names` plus one; 0 for none.
    tasks: Vec<u32>,
    task_names: Vec<Arc<str>>,
    sketches: Sketches,
}

/// What the ledger keeps of an episode apart from its readings.
#[derive(Debug, Clone, Copy, Default)]
pub struct Row<'a> {
    /// Number of frames.
    pub frames: usize,
    /// Last stamp minus first, in seconds.
    pub duration_s: f64,
    /// The task it shows, where a task column exists.
    pub task: Option<&'a Arc<str>>,
    /// Its motion, where it was sketched.
    pub motion: Option<Motion<'a>>,
}

/// One metric of one joint over the episodes.
#[derive(Debug, Clone)]
struct Column {
    check: &'static CheckSpec,
    metric: &'static Metric,
    joint: Option<JointId>,
    values: Vec<f32>,
}

impl Column {
    /// Puts values from a row on; rows without one in between are missing.
    fn put(&mut self, row: usize, values: impl ExactSizeIterator<Item = f32>) {
        let rows = row + values.len();
        if self.values.capacity() < rows {
            // Hundreds of columns that double would hold nearly twice what is in them.
            self.values.reserve_exact(rows - self.values.len() + rows / 8 + 16);
        }
        self.values.resize(row, f32::NAN);
        self.values.extend(values);
    }
}

impl Ledger {
    /// Adds one episode as the next row, with its readings.
    pub fn push<'r>(&mut self, episode: Row<'_>, readings: impl IntoIterator<Item = &'r Reading>) {
        let row = self.frames.len();
        // Episodes bring their readings in the same order, so the next column is nearly always
        // the one wanted; only where an episode leaves one out is there something to search.
        let mut guess = 0;
        for reading in readings {
            let at = self.column_of(reading, guess);
            self.columns[at].put(row, std::iter::once(reading.value as f32));
            guess = at + 1;
        }
        self.frames.push(u32::try_from(episode.frames).unwrap_or(u32::MAX));
        self.duration_s.push(episode.duration_s);
        let task = episode.task.map_or(0, |task| self.task_index(task));
        self.tasks.push(task);
        self.sketches.push(episode.motion);
    }

    /// The same with some of the joints alone, in this order.
    #[must_use]
    pub fn part(&self, joints: &[usize]) -> Self {
        let place = |joint: JointId| joints.iter().position(|at| *at == usize::from(joint));
        let kept = self.columns.iter().filter_map(|column| {
            let joint = match column.joint {
                Some(joint) => Some(place(joint)? as JointId),
                None => None,
            };
            Some(Column { joint, values: column.values.clone(), ..*column })
        });
        Self {
            columns: kept.collect(),
            frames: self.frames.clone(),
            duration_s: self.duration_s.clone(),
            tasks: self.tasks.clone(),
            task_names: self.task_names.clone(),
            sketches: self.sketches.part(joints),
        }
    }

    /// The same episodes with their frames and durations, without all that was measured on them.
    #[must_use]
    pub fn bare(&self) -> Self {
        let (frames, duration_s) = (self.frames.clone(), self.duration_s.clone());
        Self { frames, duration_s, ..Self::default() }
    }

    fn task_index(&mut self, task: &Arc<str>) -> u32 {
        let known = self.task_names.iter().position(|name| name == task);
        let at = known.unwrap_or_else(|| {
            self.task_names.push(Arc::clone(task));
            self.task_names.len() - 1
        });
        at as u32 + 1
    }

    /// Adds the episodes of another ledger after those of this one.
    pub fn append(&mut self, other: &Self) {
        let row = self.frames.len();
        for (guess, column) in other.columns.iter().enumerate() {
            let at = self.column(column.check, column.metric, column.joint, guess);
            self.columns[at].put(row, column.values.iter().copied());
        }
        self.frames.extend(&other.frames);
        self.duration_s.extend(&other.duration_s);
        let named: Vec<u32> = other.task_names.iter().map(|task| self.task_index(task)).collect();
        let renamed = |task: &u32| task.checked_sub(1).map_or(0, |at| named[at as usize]);
        self.tasks.extend(other.tasks.iter().map(renamed));
        self.sketches.append(&other.sketches);
    }

    /// Adds readings to episodes that are there already: what a cohort check measured on them, a
    /// value to a row. `like` says of what they are.
    pub fn add(&mut self, like: &Reading, values: Vec<f32>) {
        let at = self.column_of(like, self.columns.len());
        let known = &mut self.columns[at].values;
        if known.is_empty() {
            *known = values;
            return;
        }
        known.resize(known.len().max(values.len()), f32::NAN);
        let read = known.iter_mut().zip(values).filter(|(_, value)| !value.is_nan());
        read.for_each(|(known, value)| *known = value);
    }

    /// Puts what was read of one measurement into rows from `row` on, at the end of its column; `NaN`
    /// where it was not read. `guess` is where the column was in another ledger like this one.
    pub fn fill(
        &mut self,
        (check, metric, joint): (&'static CheckSpec, &'static Metric, Option<JointId>),
        row: usize,
        values: &[f64],
        guess: usize,
    ) {
        if values.iter().any(|value| !value.is_nan()) {
            let at = self.column(check, metric, joint, guess);
            self.columns[at].put(row, values.iter().map(|value| *value as f32));
        }
    }

    /// Puts the columns into the order of these checks, their metrics and the joints, whatever episodes
    /// brought them first, and takes out what no episode has.
    pub fn settle(&mut self, checks: &[&'static CheckSpec]) {
        for Column { values, .. } in &mut self.columns {
            let read = values.iter().rposition(|value| !value.is_nan());
            values.truncate(read.map_or(0, |last| last + 1));
        }
        self.columns.retain(|column| !column.values.is_empty());
        self.columns.sort_by_cached_key(|Column { check, metric, joint, .. }| {
            let place = checks.iter().position(|known| known.is(check));
            let of_check = check.metrics.iter().position(|known| known.is(metric));
            (place.unwrap_or(usize::MAX), of_check.unwrap_or(usize::MAX), *joint)
        });
    }

    /// Forgets what a check read of a joint in one episode.
    pub fn forget(&mut self, row: usize, check: &CheckSpec, joint: Option<JointId>) {
        let same = |c: &&mut Column| c.check.is(check) && c.joint == joint;
        for column in self.columns.iter_mut().filter(same) {
            if let Some(value) = column.values.get_mut(row) {
                *value = f32::NAN;
            }
        }
    }

    /// The reading's column, made if it is new; looked for at `guess` first.
    fn column_of(&mut self, reading: &Reading, guess: usize) -> usize {
        self.column(reading.check, reading.metric, reading.joint, guess)
    }

    fn column(
        &mut self,
        check: &'static CheckSpec,
        metric: &'static Metric,
        joint: Option<JointId>,
        guess: usize,
    ) -> usize {
        let same = |c: &Column| c.metric.is(metric) && c.joint == joint && c.check.is(check);
        if self.columns.get(guess).is_some_and(same) {
            return guess;
        }
        self.columns.iter().position(same).unwrap_or_else(|| {
            self.columns.push(Column { check, metric, joint, values: Vec::new() });
            self.columns.len() - 1
        })
    }

    /// Number of episodes.
    pub fn rows(&self) -> usize {
        self.frames.len()
    }

    /// Number of frames of each episode.
    pub fn frames(&self) -> &[u32] {
        &self.frames
    }

    /// Duration of each episode, in seconds.
    pub fn duration_s(&self) -> &[f64] {
        &self.duration_s
    }

    /// The task of an episode, where a task column exists.
    pub fn task(&self, row: usize) -> Option<&Arc<str>> {
        let at = self.tasks.get(row)?.checked_sub(1)?;
        self.task_names.get(at as usize)
    }

    /// The rows of each task, tasks in the order in which they appear; episodes without a task
    /// are a group of their own. One group of all rows where there is no task column.
    pub fn rows_by_task(&self) -> Vec<(Option<Arc<str>>, Vec<usize>)> {
        let mut groups: Vec<(Option<Arc<str>>, Vec<usize>)> = Vec::new();
        let mut group_of = vec![usize::MAX; self.task_names.len() + 1];
        for (row, &task) in self.tasks.iter().enumerate() {
            if group_of[task as usize] == usize::MAX {
                group_of[task as usize] = groups.len();
                groups.push((self.task(row).cloned(), Vec::new()));
            }
            groups[group_of[task as usize]].1.push(row);
        }
        groups
    }

    /// The motion of an episode, where it was sketched.
    pub fn motion(&self, row: usize) -> Option<Motion<'_>> {
        self.sketches.get(row)
    }

    /// Every column: check, metric, joint, and its values (short where the last episodes have
    /// no reading).
    pub fn columns(
        &self,
    ) -> impl Iterator<Item = (&'static CheckSpec, &'static Metric, Option<JointId>, &[f32])> {
        self.columns.iter().map(|c| (c.check, c.metric, c.joint, c.values.as_slice()))
    }

    /// Bytes held.
    #[cfg(any(test, feature = "internals"))]
    pub fn size(&self) -> usize {
        let values: usize = self.columns.iter().map(|c| c.values.capacity()).sum();
        (values + self.frames.capacity() + self.tasks.capacity()) * 4
            + self.duration_s.capacity() * 8
            + self.sketches.size()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::{Bound, Family, Scope, SpanList, Unit};

    static METRIC: Metric = Metric {
        id: "height",
        summary: "height",
        unit: Unit::Ratio,
        scope: Scope::Joint,
        bound: Bound::Unjudged,
        cohort: true,
        pool: None,
        recovery: None,
    };
    static SPEC: CheckSpec = CheckSpec {
        id: "height",
        family: Family::Motion,
        applies_to: crate::model::SignalKind::ALL,
        needs: crate::model::Relation::Nothing,
        advisory: true,
        source: "",
        cause: "",
        remedy: "",
        reference: "",
        metrics: &[&METRIC],
        params: &[],
    };

    fn reading(joint: JointId, value: f64) -> Reading {
        let spans = SpanList::default();
        Reading { check: &SPEC, metric: &METRIC, joint: Some(joint), value, spans, note: None }
    }

    fn of(frames: usize) -> Row<'static> {
        Row { frames, ..Row::default() }
    }

    #[test]
    fn rows_are_found_by_task_whatever_order_the_names_came_in() {
        let (pot, tray): (Arc<str>, Arc<str>) = ("pot".into(), "tray".into());
        let push = |ledger: &mut Ledger, task| ledger.push(Row { task, ..of(9) }, &[]);
        let (mut first, mut second) = (Ledger::default(), Ledger::default());
        push(&mut first, Some(&pot));
        push(&mut first, None);
        push(&mut second, Some(&tray));
        push(&mut second, Some(&pot));
        first.append(&second);
        assert_eq!(
            first.rows_by_task(),
            [(Some(pot), vec![0, 3]), (None, vec![1]), (Some(tray), vec![2])]
        );
    }

    #[test]
    fn a_reading_left_out_is_missing_and_the_rest_stay_in_their_columns() {
        let mut ledger = Ledger::default();
        ledger.push(of(10), &[reading(0, 1.0), reading(1, 2.0)]);
        ledger.push(of(11), &[reading(1, 3.0)]);
        ledger.push(of(12), &[reading(0, 4.0), reading(1, 5.0)]);
        let columns: Vec<Vec<f32>> = ledger.columns().map(|c| c.3.to_vec()).collect();
        assert_eq!(columns[1], [2.0, 3.0, 5.0]);
        assert!(columns[0][1].is_nan() && columns[0][2] == 4.0);
        assert_eq!(ledger.frames(), [10, 11, 12]);
        let bare = ledger.bare();
        assert_eq!((bare.frames(), bare.duration_s()), (ledger.frames(), ledger.duration_s()));
        assert!(bare.columns().next().is_none() && bare.size() < ledger.size());
        let mut longer = Ledger::default();
        longer.push(of(9), &[reading(2, 7.0)]);
        longer.append(&ledger);
        let appended: Vec<Vec<f32>> = longer.columns().map(|c| c.3.to_vec()).collect();
        assert_eq!((longer.frames(), longer.rows()), (&[9, 10, 11, 12][..], 4));
        assert!(appended[0] == [7.0] && appended[2][1..] == [2.0, 3.0, 5.0]);
        assert!(appended[1][0].is_nan() && appended[1][2].is_nan() && appended[1][3] == 4.0);
        longer.settle(&[]);
        let order =
            |ledger: &Ledger| ledger.columns().map(|c| (c.2, c.3.len())).collect::<Vec<_>>();
        assert_eq!(order(&longer), [(Some(0), 4), (Some(1), 4), (Some(2), 1)]);
        longer.forget(0, &SPEC, Some(2));
        longer.forget(3, &SPEC, Some(1));
        longer.settle(&[]);
        assert_eq!(order(&longer), [(Some(0), 4), (Some(1), 3)]);
        ledger.add(&reading(0, 0.0), vec![f32::NAN, 9.0]);
        ledger.add(&reading(2, 0.0), vec![f32::NAN, f32::NAN, 8.0]);
        let columns: Vec<Vec<f32>> = ledger.columns().map(|c| c.3.to_vec()).collect();
        assert_eq!(columns[0], [1.0, 9.0, 4.0]);
        assert!(columns[2][0].is_nan() && columns[2][2] == 8.0);
    }
}
