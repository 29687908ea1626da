//! Stretches of frames that bear a reading out.

use serde::{Deserialize, Serialize};

/// A half-open stretch of frames `[start, end)` of one episode.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
pub struct FrameSpan {
    /// First frame of the stretch.
    pub start: u32,
    /// First frame after the stretch.
    pub end: u32,
}

impl FrameSpan {
    /// The stretch `[start, end)`; an end before the start gives an empty stretch.
    pub fn new(start: usize, end: usize) -> Self {
        Self { start: start as u32, end: end.max(start) as u32 }
    }

    /// Number of frames in the stretch.
    pub fn frames(self) -> usize {
        (self.end - self.start) as usize
    }
}

/// At most [`SpanList::MOST`] spans: the worst ones, in the order of time.
///
/// Evidence is for a person to look at; eight places are enough to go and see, and a bounded list
/// keeps an episode with ten thousand faults as small as one with ten.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct SpanList(Vec<FrameSpan>);

impl SpanList {
    /// How many spans a reading keeps.
    pub const MOST: usize = 8;

    /// Keeps the spans with the largest weight, then puts them in the order of time.
    pub fn worst(weighted: impl IntoIterator<Item = (FrameSpan, f64)>) -> Self {
        let mut all: Vec<_> = weighted.into_iter().collect();
        all.sort_by(|(a, x), (b, y)| y.total_cmp(x).then(a.cmp(b)));
        all.truncate(Self::MOST);
        let mut spans: Vec<_> = all.into_iter().map(|(span, _)| span).collect();
        spans.sort_unstable();
        Self(spans)
    }

    /// Keeps the longest spans.
    pub fn longest(spans: impl IntoIterator<Item = FrameSpan>) -> Self {
        Self::worst(spans.into_iter().map(|span| (span, span.frames() as f64)))
    }

    /// The spans, in the order of time.
    pub fn as_slice(&self) -> &[FrameSpan] {
        &self.0
    }
}

impl From<FrameSpan> for SpanList {
    fn from(span: FrameSpan) -> Self {
        Self(vec![span])
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_worst_eight_are_kept_in_order_of_time() {
        let spans = (0..20).map(|i| (FrameSpan::new(i, i + 1), i as f64));
        let list = SpanList::worst(spans);
        let starts: Vec<u32> = list.as_slice().iter().map(|s| s.start).collect();
        assert_eq!(starts, (12..20).collect::<Vec<u32>>());
    }
}
