//! How rows become frames: columns, widths, scaling.

use std::ops::Range;

use arrow::record_batch::RecordBatch;

use crate::source::read_error::ReadError;
use crate::source::roles::parts::Columns;
use crate::source::roles::shape::ColumnPath;
use crate::source::shard::frames::Frames;
use crate::source::shard::stamps::StampView;
use crate::source::shard::vectors::{Target, VectorView};
use crate::source::shard::wanted::{Wanted, WantedView};
use crate::source::shard::widths::Widths;

/// From stored numbers to those of an episode.
#[derive(Debug, Clone)]
pub(in crate::source) struct Scaling {
    /// What each stored value is multiplied by, joint by joint; as long as the wider side.
    pub factors: Vec<f64>,
    /// What is added after that; empty where nothing is.
    pub offsets: Vec<f32>,
    /// Ticks a second of a plain number in the time column.
    pub per_second: f64,
    /// Rate by which frames are counted where there is no time column.
    pub rate_hz: f64,
}

/// How rows become frames.
#[derive(Debug)]
pub(in crate::source) struct Layout {
    pub columns: Columns,
    pub widths: Widths,
    /// Joints of the rig: the follower's.
    pub joints: usize,
    pub scaling: Scaling,
    /// Optional columns that are read.
    pub more: Wanted,
}

impl Layout {
    /// Makes room for this many frames. Old values may remain: every one is written.
    pub fn prepare(&self, count: usize, frames: &mut Frames) {
        let action: usize = self.widths.action.iter().sum();
        frames.time_s.resize(count, f64::NAN);
        frames.state.resize(count * self.joints, f32::NAN);
        frames.action.resize(count * action.max(self.action_joints()), f32::NAN);
        self.more.prepare(count, &mut frames.vectors, &mut frames.series);
        // A leader with fewer joints than the follower has no values for the rest.
        if let Some(rest) = frames.action.get_mut(count * action..) {
            rest.fill(f32::NAN);
        }
        frames.filled = 0;
        frames.ragged_rows = 0;
    }

    /// Columns to read; the task only where episodes are made of them.
    pub fn wanted(&self, task: bool) -> Vec<ColumnPath> {
        let columns = &self.columns;
        let mut wanted: Vec<_> = columns.parts().map(|part| part.path.clone()).collect();
        wanted.extend(columns.time.iter().map(|t| t.path.clone()));
        wanted.extend(columns.task.iter().chain(&columns.labels).filter(|_| task).cloned());
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
    pub fn view(&self, batch: &RecordBatch) -> Result<View, ReadError> {
        let state = VectorView::of(batch, &self.columns.state, &self.widths.state)?;
        let action = match &self.columns.action {
            Some(action) => Some(VectorView::of(batch, action, &self.widths.action)?),
            None => None,
        };
        let time = match &self.columns.time {
            Some(time) => Some(StampView::of(batch, &time.path, self.scaling.per_second)?),
            None => None,
        };
        let more = if self.more.is_empty() { None } else { Some(self.more.view(batch)) };
        Ok(View { time, state, action, more })
    }
}

/// One batch, seen through the layout.
pub(in crate::source) struct View {
    time: Option<StampView>,
    state: VectorView,
    action: Option<VectorView>,
    more: Option<WantedView>,
}

impl View {
    /// Appends rows of the batch to an episode of so many frames.
    pub fn append(&self, rows: Range<usize>, frames: &mut Frames, layout: &Layout) {
        let scaling = &layout.scaling;
        let at = frames.filled;
        let filled = at..at + rows.len();
        let stride = frames.time_s.len();
        let times = &mut frames.time_s[at..at + rows.len()];
        match &self.time {
            Some(time) => time.fill(rows.clone(), times),
            None => {
                for (i, time) in times.iter_mut().enumerate() {
                    *time = (at + i) as f64 / scaling.rate_hz;
                }
            }
        }
        let mut target = Target { values: &mut frames.state, stride, at };
        let mut ragged = self.state.fill(rows.clone(), &scaling.factors, &mut target);
        if let Some(action) = &self.action {
            let mut target = Target { values: &mut frames.action, stride, at };
            ragged = ragged.max(action.fill(rows.clone(), &scaling.factors, &mut target));
        }
        if !scaling.offsets.is_empty() {
            add(&scaling.offsets, &mut frames.state, stride, &filled);
            add(&scaling.offsets, &mut frames.action, stride, &filled);
        }
        if let Some(more) = &self.more {
            more.append(&rows, frames, &layout.more);
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
