//! How rows become frames: columns, widths, factors, ticks.

use std::ops::Range;

use arrow::record_batch::RecordBatch;

use super::columns::Columns;
use super::shape::ColumnPath;
use super::stamps::StampView;
use super::vectors::{Target, VectorView};
use super::wanted::{Wanted, WantedView};
use super::widths::Widths;

/// How rows become frames.
#[derive(Debug)]
pub(super) struct Setup {
    pub columns: Columns,
    pub widths: Widths,
    /// Joints of the rig: the follower's.
    pub joints: usize,
    /// What each stored value is multiplied by, joint by joint; as long as the wider side.
    pub factors: Vec<f64>,
    /// What is added after that; empty where nothing is.
    pub offsets: Vec<f32>,
    /// Ticks a second of a plain number in the time column.
    pub per_second: f64,
    /// Optional columns that are read.
    pub more: Wanted,
    /// Rate by which frames are counted where there is no time column.
    pub rate_hz: f64,
}

/// One episode's frames while they arrive.
#[derive(Debug, Default)]
pub(super) struct Frames {
    pub time_s: Vec<f64>,
    pub state: Vec<f32>,
    pub action: Vec<f32>,
    /// Optional vectors and series, in the order in which they are wanted.
    pub vectors: Vec<Vec<f32>>,
    pub series: Vec<Vec<f64>>,
    pub filled: usize,
    pub ragged_rows: u32,
}

impl Frames {
    /// Makes room for this many frames. Old values may remain: every one is written.
    pub fn prepare(&mut self, frames: usize, setup: &Setup) {
        let action: usize = setup.widths.action.iter().sum();
        self.time_s.resize(frames, f64::NAN);
        self.state.resize(frames * setup.joints, f32::NAN);
        self.action.resize(frames * action.max(setup.action_joints()), f32::NAN);
        setup.more.prepare(frames, &mut self.vectors, &mut self.series);
        // A leader with fewer joints than the follower has no values for the rest.
        if let Some(rest) = self.action.get_mut(frames * action..) {
            rest.fill(f32::NAN);
        }
        self.filled = 0;
        self.ragged_rows = 0;
    }
}

impl Setup {
    /// Columns to read; the task only where episodes are made of them.
    pub fn wanted(&self, task: bool) -> Vec<ColumnPath> {
        let columns = &self.columns;
        let vectors =
            columns.state.parts.iter().chain(columns.action.iter().flat_map(|a| &a.parts));
        let mut wanted: Vec<_> = vectors.map(|p| p.path.clone()).collect();
        wanted.extend(columns.time.iter().map(|t| t.path.clone()));
        wanted.extend(columns.task.iter().filter(|_| task).cloned());
        for path in self.more.paths() {
            if !wanted.contains(path) {
                wanted.push(path.clone());
            }
        }
        wanted
    }

    /// Joints of the action's channels: the rig's, or none.
    pub fn action_joints(&self) -> usize {
        if self.columns.action.is_some() { self.joints } else { 0 }
    }

    /// Looks at a batch.
    pub fn view(&self, batch: &RecordBatch) -> Result<View, String> {
        let state = VectorView::of(batch, &self.columns.state, &self.widths.state)?;
        let action = match &self.columns.action {
            Some(action) => Some(VectorView::of(batch, action, &self.widths.action)?),
            None => None,
        };
        let time = match &self.columns.time {
            Some(time) => Some(StampView::of(batch, &time.path, self.per_second)?),
            None => None,
        };
        let more = if self.more.is_empty() { None } else { Some(self.more.view(batch)) };
        Ok(View { time, state, action, more })
    }
}

/// One batch, seen through the setup.
pub(super) struct View {
    time: Option<StampView>,
    state: VectorView,
    action: Option<VectorView>,
    more: Option<WantedView>,
}

impl View {
    /// Appends rows of the batch to an episode of so many frames.
    pub fn append(&self, rows: Range<usize>, frames: &mut Frames, setup: &Setup) {
        let at = frames.filled;
        let filled = at..at + rows.len();
        let stride = frames.time_s.len();
        let times = &mut frames.time_s[at..at + rows.len()];
        match &self.time {
            Some(time) => time.fill(rows.clone(), times),
            None => {
                for (i, time) in times.iter_mut().enumerate() {
                    *time = (at + i) as f64 / setup.rate_hz;
                }
            }
        }
        let mut target = Target { values: &mut frames.state, stride, at };
        let mut ragged = self.state.fill(rows.clone(), &setup.factors, &mut target);
        if let Some(action) = &self.action {
            let mut target = Target { values: &mut frames.action, stride, at };
            ragged = ragged.max(action.fill(rows.clone(), &setup.factors, &mut target));
        }
        if !setup.offsets.is_empty() {
            add(&setup.offsets, &mut frames.state, stride, &filled);
            add(&setup.offsets, &mut frames.action, stride, &filled);
        }
        if let Some(more) = &self.more {
            more.append(&rows, frames, &setup.more);
        }
        frames.ragged_rows += ragged;
        frames.filled += rows.len();
    }
}

/// Adds each joint's offset to these frames of its values.
fn add(offsets: &[f32], values: &mut [f32], stride: usize, frames: &Range<usize>) {
    for (joint, offset) in values.chunks_exact_mut(stride.max(1)).zip(offsets) {
        for value in &mut joint[frames.clone()] {
            *value += offset;
        }
    }
}
