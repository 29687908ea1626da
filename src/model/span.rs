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

/// Frames that can be left out of an episode, with the times of the first and the last of them in
/// seconds from its start.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Trim {
    /// The frames.
    pub span: FrameSpan,
    /// From when to when.
    pub time_s: [f64; 2],
}

impl Trim {
    /// What is left where nothing moves: about so many seconds.
    pub const KEPT_S: f64 = 0.3;

    /// What of a still head or tail can be left out; nothing where it is shorter than what is kept.
    pub fn of(still: FrameSpan, time_s: [f64; 2]) -> Option<Self> {
        let [from, to] = time_s;
        let step_s = (to - from) / still.frames().checked_sub(1).filter(|n| *n > 0)? as f64;
        let kept = (Self::KEPT_S / step_s).round();
        let (frames, kept_s) = (still.frames() as f64 - kept, kept * step_s);
        if !(step_s > 0.0 && frames >= 1.0) {
            return None;
        }
        let kept = kept as u32;
        // A head is kept at its end, a tail at its begin: next to the motion.
        Some(if still.start == 0 {
            Self { span: FrameSpan { end: still.end - kept, ..still }, time_s: [from, to - kept_s] }
        } else {
            let start = still.start + kept;
            Self { span: FrameSpan { start, ..still }, time_s: [from + kept_s, to] }
        })
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
    fn about_a_third_of_a_second_next_to_the_motion_is_kept() {
        // 30 Hz: 9 frames are 0.3 s.
        let head = Trim::of(FrameSpan::new(0, 61), [0.0, 2.0]);
        let tail = Trim::of(FrameSpan::new(300, 361), [10.0, 12.0]);
        let trimmed = |trim: Option<Trim>| trim.map(|t| (t.span, t.time_s.map(f64::round)));
        assert_eq!(trimmed(head), Some((FrameSpan::new(0, 52), [0.0, 2.0])));
        assert_eq!(trimmed(tail), Some((FrameSpan::new(309, 361), [10.0, 12.0])));
        assert!(head.is_some_and(|t| (t.time_s[1] - 1.7).abs() < 1e-9));
        assert!(tail.is_some_and(|t| (t.time_s[0] - 10.3).abs() < 1e-9));
        for (still, times) in [
            ((0, 5), [0.0, 0.2]),
            ((0, 1), [0.0, 0.0]),
            ((4, 9), [1.0, 1.0]),
            ((0, 9), [f64::NAN; 2]),
        ] {
            assert_eq!(Trim::of(FrameSpan::new(still.0, still.1), times), None);
        }
    }

    #[test]
    fn the_worst_eight_are_kept_in_order_of_time() {
        let spans = (0..20).map(|i| (FrameSpan::new(i, i + 1), i as f64));
        let list = SpanList::worst(spans);
        let starts: Vec<u32> = list.as_slice().iter().map(|s| s.start).collect();
        assert_eq!(starts, (12..20).collect::<Vec<u32>>());
    }
}
