//! Optional columns that are read, row by row, next to the others.

use std::ops::Range;
use std::sync::Arc;

use arrow::record_batch::RecordBatch;

use crate::model::{BaseTrack, CameraTrack, Channels, Extra, Extras};
use crate::source::roles::extras::ExtraColumns;
use crate::source::roles::sensors::Sensor;
use crate::source::roles::shape::ColumnPath;
use crate::source::shard::frames::Frames;
use crate::source::shard::stamps::StampView;
use crate::source::shard::vectors::{Target, VectorView};

/// The columns asked for.
#[derive(Debug, Default)]
pub(in crate::source) struct Wanted {
    /// Vectors, with the kind they are; the base's are its velocity and then its pose.
    vectors: Vec<Sensor>,
    cameras: Vec<WantedCamera>,
    /// Columns of one number, with their ticks a second.
    series: Vec<(ColumnPath, f64)>,
}

/// A camera, and which of the series are its numbers and its stamps.
#[derive(Debug)]
struct WantedCamera {
    name: Arc<str>,
    rate_hz: Option<f64>,
    index: Option<usize>,
    stamp: Option<usize>,
}

impl Wanted {
    /// Those of what was found that are of these kinds.
    pub fn of(found: &ExtraColumns, kinds: &[Extra]) -> Self {
        let mut wanted = Self::default();
        let asked = |kind: Extra| kinds.contains(&kind);
        wanted.vectors.extend(found.sensors.iter().filter(|s| asked(s.kind)).cloned());
        if let Some((velocity, pose)) = found.base.as_ref().filter(|_| asked(Extra::Base)) {
            wanted.vectors.extend([velocity.clone(), pose.clone()]);
        }
        for camera in found.cameras.iter().filter(|_| asked(Extra::Cameras)) {
            let mut add = |path: &ColumnPath, per_second: f64| {
                wanted.series.push((path.clone(), per_second));
                wanted.series.len() - 1
            };
            let index = camera.index.as_ref().map(|path| add(path, 1.0));
            let stamp = camera.stamp.as_ref().map(|s| add(&s.path, s.per_second.unwrap_or(1.0)));
            let (name, rate_hz) = (Arc::clone(&camera.name), camera.rate_hz);
            wanted.cameras.push(WantedCamera { name, rate_hz, index, stamp });
        }
        wanted
    }

    /// Whether nothing was asked for.
    pub fn is_empty(&self) -> bool {
        self.vectors.is_empty() && self.series.is_empty()
    }

    /// Columns to read.
    pub fn paths(&self) -> impl Iterator<Item = &ColumnPath> {
        let parts = self.vectors.iter().flat_map(|sensor| &sensor.vectors.parts);
        parts.map(|part| &part.path).chain(self.series.iter().map(|(path, _)| path))
    }

    /// Makes room for this many frames; every value is written later.
    pub fn prepare(&self, frames: usize, vectors: &mut Vec<Vec<f32>>, series: &mut Vec<Vec<f64>>) {
        vectors.resize_with(self.vectors.len(), Vec::new);
        for (values, sensor) in vectors.iter_mut().zip(&self.vectors) {
            values.resize(frames * sensor.factors.len(), f32::NAN);
        }
        series.resize_with(self.series.len(), Vec::new);
        for values in series {
            values.resize(frames, f64::NAN);
        }
    }

    /// Looks at a batch. A file without such a column has no values for it.
    pub fn view(&self, batch: &RecordBatch) -> WantedView {
        let vector = |s: &Sensor| VectorView::of(batch, &s.vectors, &s.widths).ok();
        let one =
            |(path, per_second): &(ColumnPath, f64)| StampView::of(batch, path, *per_second).ok();
        WantedView {
            vectors: self.vectors.iter().map(vector).collect(),
            series: self.series.iter().map(one).collect(),
        }
    }

    /// Takes a finished episode's values out of its frames.
    pub fn extras(&self, frames: usize, vectors: Vec<Vec<f32>>, series: Vec<Vec<f64>>) -> Extras {
        let mut extras = Extras::default();
        let mut base = Vec::new();
        for (values, sensor) in vectors.into_iter().zip(&self.vectors) {
            let channels = Channels::new(values, frames, sensor.factors.len());
            match sensor.kind {
                Extra::Velocity => extras.velocity = Some(channels),
                Extra::Effort => extras.effort = Some(channels),
                Extra::Voltage => extras.voltage = Some(channels),
                Extra::Temperature => extras.temperature = Some(channels),
                Extra::Base => base.push(channels),
                Extra::Cameras => {}
            }
        }
        if let (Some(pose), Some(velocity)) = (base.pop(), base.pop()) {
            extras.base = Some(BaseTrack { velocity, pose });
        }
        let mut series: Vec<Option<Vec<f64>>> = series.into_iter().map(Some).collect();
        let mut take = |at: Option<usize>| at.and_then(|at| series.get_mut(at)?.take());
        for camera in &self.cameras {
            let (name, rate_hz) = (Arc::clone(&camera.name), camera.rate_hz);
            let (index, stamp_s) = (take(camera.index), take(camera.stamp));
            extras.cameras.push(CameraTrack { name, rate_hz, index, stamp_s });
        }
        extras
    }

    /// Takes the buffers of an episode back, in the order in which they were given.
    pub fn take_back(extras: Extras) -> (Vec<Vec<f32>>, Vec<Vec<f64>>) {
        let Extras { velocity, effort, voltage, temperature, cameras, base, .. } = extras;
        let base = base.into_iter().flat_map(|base| [base.velocity, base.pose]);
        let all = [velocity, effort, voltage, temperature].into_iter().flatten().chain(base);
        let vectors = all.map(Channels::into_values).collect();
        let series = cameras.into_iter().flat_map(|c| [c.index, c.stamp_s]).flatten().collect();
        (vectors, series)
    }
}

/// One batch's optional columns.
#[derive(Default)]
pub(in crate::source) struct WantedView {
    vectors: Vec<Option<VectorView>>,
    series: Vec<Option<StampView>>,
}

impl WantedView {
    /// Appends rows of the batch to an episode.
    pub fn append(&self, rows: &Range<usize>, frames: &mut Frames, wanted: &Wanted) {
        let (at, stride) = (frames.filled, frames.time_s.len());
        let end = at + rows.len();
        for ((view, sensor), values) in
            self.vectors.iter().zip(&wanted.vectors).zip(&mut frames.vectors)
        {
            if let Some(view) = view {
                let mut target = Target { values, stride, at };
                view.fill(rows.clone(), &sensor.factors, &mut target);
            } else {
                for channel in values.chunks_exact_mut(stride.max(1)) {
                    channel[at..end].fill(f32::NAN);
                }
            }
        }
        for (view, values) in self.series.iter().zip(&mut frames.series) {
            match view {
                Some(view) => view.fill(rows.clone(), &mut values[at..end]),
                None => values[at..end].fill(f64::NAN),
            }
        }
    }
}
