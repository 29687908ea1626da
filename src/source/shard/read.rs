//! Reads a shard: streams its rows and hands over each episode when its last row was seen.

use std::collections::HashMap;
use std::mem;
use std::ops::Range;
use std::sync::Arc;

use arrow::record_batch::RecordBatch;

use crate::model::{Channels, Episode, EpisodeIndex, EpisodeKey, Rig, Unread};
use crate::source::format::kept::KeptFiles;
use crate::source::input::Input;
use crate::source::read_error::ReadError;
use crate::source::roles::shape::ColumnPath;
use crate::source::shard::convert::{Side, convert};
use crate::source::shard::cut::Shard;
use crate::source::shard::frames::Frames;
use crate::source::shard::layout::{Layout, View};
use crate::source::shard::plan::Plan;
use crate::source::shard::runs::{NONE, Run};
use crate::source::shard::stamps::text_at;
use crate::source::shard::wanted::Wanted;

/// More places than this are not picked out of a file one by one.
const MOST_RANGES: usize = 1_000;

/// What reading needs of a dataset.
#[derive(Debug, Clone, Copy)]
pub(in crate::source) struct Readable<'a> {
    pub rig: &'a Arc<Rig>,
    pub layout: &'a Layout,
    pub wanted: &'a [ColumnPath],
    pub plan: &'a Plan,
    pub inputs: &'a [Input],
    pub kept: &'a KeptFiles,
}

/// An episode whose rows are arriving.
#[derive(Default)]
struct Partial {
    frames: Frames,
    task: Option<Arc<str>>,
    labels: Vec<Option<Arc<str>>>,
}

/// Puts the episodes of one shard together.
pub(in crate::source) struct Assembler<'a> {
    dataset: Readable<'a>,
    episodes: Range<u32>,
    /// The episode that arrives just now, apart from the others that have begun.
    current: Option<(u32, Partial)>,
    begun: HashMap<u32, Partial>,
    spare: Vec<Partial>,
    done: Vec<bool>,
    visit: &'a mut dyn FnMut(&Episode),
    /// The episodes that are shown, in their order; all where not said.
    only: Option<&'a [EpisodeIndex]>,
    /// The last task seen: most episodes show the same one.
    task: Option<Arc<str>>,
    labels: Vec<Option<Arc<str>>>,
}

impl<'a> Assembler<'a> {
    pub fn new(dataset: Readable<'a>, shard: &Shard, visit: &'a mut dyn FnMut(&Episode)) -> Self {
        Self {
            dataset,
            episodes: shard.episodes.clone(),
            current: None,
            begun: HashMap::new(),
            spare: Vec::new(),
            done: vec![false; shard.episodes.len()],
            visit,
            only: None,
            task: None,
            labels: vec![None; dataset.layout.columns.labels.len()],
        }
    }

    /// The same for these episodes alone, in their order: rows of others are passed over.
    pub fn only(self, wanted: &'a [EpisodeIndex]) -> Self {
        Self { only: Some(wanted), ..self }
    }

    /// Reads the shard, file by file.
    pub fn read(mut self, shard: &Shard) -> Vec<Unread> {
        let plan = self.dataset.plan;
        let mut failed = Vec::new();
        for file in plan.files_of(&shard.rows) {
            let place = &plan.files[file];
            let start = shard.rows.start.saturating_sub(place.base);
            let end = (shard.rows.end - place.base).min(place.rows);
            if let Err(error) = self.file(file, start..end) {
                failed.push((file, start..end, error));
            }
        }
        let lost =
            |(file, rows, error): (usize, Range<u64>, ReadError)| self.lost(file, &rows, &error);
        failed.into_iter().map(lost).collect()
    }

    fn file(&mut self, file: usize, rows: Range<u64>) -> Result<(), ReadError> {
        let dataset = self.dataset;
        let place = &dataset.plan.files[file];
        let runs = dataset.plan.runs_of(file);
        let ranges = self.ranges(&rows, runs);
        let Some(last) = ranges.last() else { return Ok(()) };
        let whole = rows == (0..place.rows);
        let kept = if whole { None } else { dataset.kept.get(file) };
        let table = place.table(&dataset.inputs[file].path, kept)?.table;
        if !whole {
            dataset.kept.put(file, table.as_ref());
        }
        let run_at = |at: u64| runs.partition_point(|r| u64::from(r.start) <= at).saturating_sub(1);
        let mut at = ranges[0].start;
        let (mut nth, mut run) = (0, run_at(at));
        let mut failed = None;
        let read = table.scan(dataset.wanted, &ranges, &mut |batch| {
            match dataset.layout.view(batch) {
                Ok(view) => {
                    // A batch may hold rows of several ranges, one behind the other.
                    let rows = batch.num_rows() as u64;
                    let mut shared = 0;
                    while let Some(range) = ranges.get(nth).filter(|_| shared < rows) {
                        let end = (at + rows - shared).min(range.end);
                        self.batch(batch, &view, shared, at..end, runs, &mut run);
                        shared += end - at;
                        at = end;
                        if let Some(next) = ranges.get(nth + 1).filter(|_| at == range.end) {
                            (nth, at) = (nth + 1, next.start);
                            run = run_at(at);
                        } else if at == range.end {
                            break;
                        }
                    }
                    at += rows - shared;
                }
                Err(reason) => failed = Some(reason),
            }
            failed.is_none()
        });
        read?;
        match failed {
            Some(reason) => Err(reason),
            None if at != last.end => Err(ReadError::Shrunk { at, rows: place.rows }),
            None => Ok(()),
        }
    }

    /// The rows that are worth reading: those of the chosen episodes, unless that is most of them or
    /// they lie in so many places that passing over the rest would cost more.
    fn ranges(&self, rows: &Range<u64>, runs: &[Run]) -> Vec<Range<u64>> {
        if self.only.is_none() {
            return vec![rows.clone()];
        }
        let mut ranges: Vec<Range<u64>> = Vec::new();
        let first = runs.partition_point(|r| u64::from(r.start) <= rows.start).saturating_sub(1);
        for (at, run) in runs.iter().enumerate().skip(first) {
            let start = u64::from(run.start).max(rows.start);
            if start >= rows.end {
                break;
            }
            if !self.wants(run.episode) {
                continue;
            }
            let next = runs.get(at + 1).map_or(u64::MAX, |next| u64::from(next.start));
            let end = next.min(rows.end);
            match ranges.last_mut() {
                Some(last) if last.end == start => last.end = end,
                _ => ranges.push(start..end),
            }
        }
        let wanted: u64 = ranges.iter().map(|range| range.end - range.start).sum();
        let most = wanted * 2 > rows.end - rows.start || ranges.len() > MOST_RANGES;
        if most { vec![rows.clone()] } else { ranges }
    }

    /// Whether an episode is of this shard, and is to be shown.
    fn wants(&self, episode: u32) -> bool {
        episode != NONE
            && self.episodes.contains(&episode)
            && self.only.is_none_or(|only| only.binary_search(&u64::from(episode).into()).is_ok())
    }

    /// Shares a batch from its row `first` on, rows `rows` of its file, out among the episodes.
    fn batch(
        &mut self,
        batch: &RecordBatch,
        view: &View,
        first: u64,
        rows: Range<u64>,
        runs: &[Run],
        run: &mut usize,
    ) {
        let mut at = rows.start;
        while at < rows.end {
            let next = runs.get(*run + 1).map_or(u64::MAX, |r| u64::from(r.start));
            let end = next.min(rows.end);
            let episode = runs[*run].episode;
            if self.wants(episode) {
                let part = (first + at - rows.start) as usize..(first + end - rows.start) as usize;
                self.append(batch, view, part, episode);
            }
            at = end;
            if at == next {
                *run += 1;
            }
        }
    }

    fn append(&mut self, batch: &RecordBatch, view: &View, rows: Range<usize>, episode: u32) {
        let dataset = self.dataset;
        if self.current.as_ref().is_none_or(|(number, _)| *number != episode) {
            let partial = self.begun.remove(&episode).unwrap_or_else(|| {
                let mut fresh = self.spare.pop().unwrap_or_default();
                let frames = dataset.plan.episodes[episode as usize].frames as usize;
                dataset.layout.prepare(frames, &mut fresh.frames);
                fresh.task = None;
                fresh.labels.clear();
                fresh
            });
            if let Some((number, other)) = self.current.replace((episode, partial)) {
                self.begun.insert(number, other);
            }
        }
        let Some((_, partial)) = &mut self.current else { return };
        if let Some(path) = &dataset.layout.columns.task
            && partial.task.is_none()
            && let Some(text) = text_at(batch, path, rows.start)
        {
            let same = self.task.take().filter(|last| **last == *text);
            let task = same.unwrap_or_else(|| text.into());
            partial.task = Some(Arc::clone(&task));
            self.task = Some(task);
        }
        if partial.labels.is_empty() {
            for (path, last) in dataset.layout.columns.labels.iter().zip(&mut self.labels) {
                let text = text_at(batch, path, rows.start);
                let same = last.take().filter(|last| Some(&**last) == text.as_deref());
                *last = same.or_else(|| text.map(Into::into));
                partial.labels.push(last.clone());
            }
        }
        view.append(rows, &mut partial.frames, dataset.layout);
        if partial.frames.filled == partial.frames.time_s.len()
            && let Some((_, partial)) = self.current.take()
        {
            self.finish(episode, partial);
        }
    }

    /// Shows a complete episode and takes its buffers back.
    fn finish(&mut self, number: u32, partial: Partial) {
        let dataset = self.dataset;
        let place = &dataset.plan.episodes[number as usize];
        let Frames { time_s, state, action, vectors, series, ragged_rows, .. } = partial.frames;
        let count = time_s.len();
        let joints = dataset.rig.joints.len();
        let channels = |values: Vec<f32>| Channels::new(values, count, joints);
        let mut extras = dataset.layout.more.extras(count, vectors, series);
        let led = dataset.layout.columns.action.is_some();
        let mut kept = None;
        let (mut state, mut action) = (state, action);
        if let Some(stored) = &dataset.rig.stored {
            let side = Side { values: &state, frames: count, follower: None };
            let (follower, mut tracks) = convert(stored, side);
            let side = Side { values: &action, frames: count, follower: Some(&follower) };
            let (leader, more) = if led { convert(stored, side) } else { Default::default() };
            tracks.extend(more);
            extras.rotations = tracks;
            kept = Some((mem::replace(&mut state, follower), mem::replace(&mut action, leader)));
        } else {
            // The action may be stored wider than the rig has joints; what is beyond is left out.
            action.truncate(count * dataset.layout.action_joints());
        }
        let paired = dataset.rig.joints.iter().any(|joint| joint.unpaired.is_none());
        let episode = Episode {
            key: EpisodeKey {
                id: place.id.clone(),
                index: EpisodeIndex::new(number.into()),
                task: partial.task,
                labels: partial.labels,
                rows: place.rows,
            },
            rig: Arc::clone(dataset.rig),
            time_s,
            state: channels(state),
            action: (led && paired).then(|| channels(action)),
            ragged_rows,
            extras,
        };
        (self.visit)(&episode);
        self.done[(number - self.episodes.start) as usize] = true;
        let action = episode.action.map(Channels::into_values).unwrap_or_default();
        let (time_s, state) = (episode.time_s, episode.state.into_values());
        let (state, action) = kept.unwrap_or((state, action));
        let (vectors, series) = Wanted::take_back(episode.extras);
        let frames = Frames { time_s, state, action, vectors, series, filled: 0, ragged_rows: 0 };
        self.spare.push(Partial { frames, task: None, labels: Vec::new() });
    }

    /// What a failure cost: the episodes with rows in the part that was to be read.
    fn lost(&self, file: usize, rows: &Range<u64>, error: &ReadError) -> Unread {
        let reason = error.line();
        let plan = self.dataset.plan;
        let runs = plan.runs_of(file);
        let first = runs.partition_point(|r| u64::from(r.start) <= rows.start).saturating_sub(1);
        let mut lost: Vec<u32> = runs[first..]
            .iter()
            .take_while(|r| u64::from(r.start) < rows.end)
            .map(|r| r.episode)
            .filter(|e| self.wants(*e))
            .filter(|e| !self.done[(e - self.episodes.start) as usize])
            .collect();
        lost.sort_unstable();
        lost.dedup();
        let id = |episode: u32| plan.episodes[episode as usize].id.as_str();
        let reason = match lost.as_slice() {
            [] => reason,
            [one] => format!("{reason}; episode {} is left out", id(*one)),
            [first, .., last] => format!(
                "{reason}; {} episodes are left out, {} to {}",
                lost.len(),
                id(*first),
                id(*last)
            ),
        };
        Unread { path: self.dataset.inputs[file].path.clone(), reason, kind: error.kind() }
    }
}
