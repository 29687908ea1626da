//! The axis of time.

use std::ops::Range;

use super::traced::Traced;

/// Steps longer than this many periods are gaps: nothing was recorded, so nothing is drawn.
const GAP: f64 = 3.5;

/// Where each frame stands, in seconds from the start.
pub(super) struct Axis {
    pub at_s: Vec<f64>,
    /// The frames in the window.
    pub frames: Range<usize>,
    /// Both ends of what is drawn.
    pub ends_s: (f64, f64),
    /// The stamps are missing or run backward, so frames are drawn at even steps.
    pub by_frame: bool,
    pub gap_s: f64,
}

impl Traced<'_> {
    /// Whether any frame lies in the window.
    pub fn is_empty(&self) -> bool {
        Axis::of(self).frames.is_empty()
    }
}

impl Axis {
    pub fn of(traced: &Traced<'_>) -> Self {
        let stamps = &traced.episode.time_s;
        let sound = stamps.iter().all(|t| t.is_finite()) && stamps.is_sorted();
        let period_s = traced.episode.rig.period_s;
        let period_s = if period_s > 0.0 { period_s } else { 1.0 };
        let at_s: Vec<f64> = if sound {
            let start_s = stamps.first().copied().unwrap_or(0.0);
            stamps.iter().map(|t| t - start_s).collect()
        } else {
            (0..stamps.len()).map(|frame| frame as f64 * period_s).collect()
        };
        let (from, to) = traced.window_s;
        let start = from.map_or(0, |from| at_s.partition_point(|t| *t < from));
        let end = to.map_or(at_s.len(), |to| at_s.partition_point(|t| *t <= to));
        let frames = start..end.max(start);
        let first = at_s.get(start).copied().unwrap_or(0.0);
        let last = frames.clone().last().map_or(first, |frame| at_s[frame]);
        // One frame alone still needs an axis of some length.
        let ends_s = (first, if last > first { last } else { first + period_s });
        Self { at_s, frames, ends_s, by_frame: !sound, gap_s: GAP * period_s }
    }

    /// Where a time falls between both ends: 0 to 1.
    pub fn share(&self, t: f64) -> f64 {
        let (first, last) = self.ends_s;
        ((t - first) / (last - first)).clamp(0.0, 1.0)
    }

    /// The column of a time among so many.
    pub fn column(&self, t: f64, columns: usize) -> usize {
        ((self.share(t) * columns as f64) as usize).min(columns.saturating_sub(1))
    }

    /// Whether the line goes on from a frame to the next.
    pub fn goes_on(&self, frame: usize) -> bool {
        self.at_s[frame + 1] - self.at_s[frame] <= self.gap_s
    }

    /// Both ends of a span of frames as far as they lie in the window.
    pub fn within(&self, start: usize, end: usize) -> Option<(f64, f64)> {
        let (start, end) = (start.max(self.frames.start), end.min(self.frames.end));
        (start < end).then(|| (self.at_s[start], self.at_s[end - 1]))
    }
}
