//! Which frames of an episode are kept, and in how many parts.

use std::ops::Range;

/// A part of an episode that is kept: stretches of its frames, in order.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Part {
    pub frames: Vec<Range<u64>>,
}

impl Part {
    /// How many frames it has.
    pub fn len(&self) -> u64 {
        self.frames.iter().map(|frames| frames.end - frames.start).sum()
    }
}

/// What is left out of an episode, and where it is cut.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(super) struct Cuts {
    /// Frames that are left out.
    pub out: Vec<Range<u64>>,
    /// Frames with which another part begins.
    pub at: Vec<u64>,
    /// Actions are taken from so many frames later: the last frames of a part then have none.
    pub later: i64,
}

impl Cuts {
    /// The parts of an episode of so many frames; one without frames is none.
    pub fn parts(&self, frames: u64) -> Vec<Part> {
        let mut borders: Vec<u64> =
            self.at.iter().copied().filter(|at| (1..frames).contains(at)).collect();
        borders.sort_unstable();
        borders.dedup();
        let mut out: Vec<Range<u64>> = self.out.clone();
        out.sort_by_key(|one| one.start);
        let mut parts = Vec::new();
        let mut start = 0;
        for end in borders.into_iter().chain([frames]) {
            let (first, last) = if self.later >= 0 {
                (start, end.saturating_sub(self.later.unsigned_abs()).max(start))
            } else {
                ((start + self.later.unsigned_abs()).min(end), end)
            };
            let kept = without(first..last, &out);
            if !kept.is_empty() {
                parts.push(Part { frames: kept });
            }
            start = end;
        }
        parts
    }
}

/// What is left of a stretch without others, which are sorted.
fn without(whole: Range<u64>, out: &[Range<u64>]) -> Vec<Range<u64>> {
    let mut kept = Vec::new();
    let mut at = whole.start;
    for one in out {
        let (start, end) = (one.start.clamp(at, whole.end.max(at)), one.end.min(whole.end));
        if start > at && start <= whole.end {
            kept.push(at..start);
        }
        at = at.max(end);
    }
    if at < whole.end {
        kept.push(at..whole.end);
    }
    kept
}

/// Frames at which the clock jumps, as the check of it says: backward, or by more than `jump_s`.
pub(super) fn jumps(time_s: &[f64], jump_s: f64) -> Vec<u64> {
    let mut found = Vec::new();
    let mut last: Option<f64> = None;
    for (frame, time) in time_s.iter().enumerate().filter(|(_, time)| time.is_finite()) {
        if last.is_some_and(|last| *time < last || *time - last > jump_s) {
            found.push(frame as u64);
        }
        last = Some(*time);
    }
    found
}

/// Frames whose stamps lie within a span of seconds from the first stamp.
pub(super) fn within(time_s: &[f64], span_s: (f64, f64)) -> Vec<Range<u64>> {
    let Some(start) = time_s.iter().copied().find(|time| time.is_finite()) else {
        return Vec::new();
    };
    // A stamp that a person reads from a report is rounded.
    let (from, to) = (span_s.0 - 1e-6, span_s.1 + 1e-6);
    let mut found: Vec<Range<u64>> = Vec::new();
    for (frame, time) in time_s.iter().enumerate() {
        let inside = (from..=to).contains(&(time - start));
        match found.last_mut() {
            Some(last) if inside && last.end == frame as u64 => last.end += 1,
            _ if inside => found.push(frame as u64..frame as u64 + 1),
            _ => {}
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    fn parts(cuts: &Cuts, frames: u64) -> Vec<Vec<(u64, u64)>> {
        let ends = |part: &Part| part.frames.iter().map(|one| (one.start, one.end)).collect();
        cuts.parts(frames).iter().map(ends).collect()
    }

    #[test]
    fn frames_are_left_out_and_episodes_are_cut() {
        let cuts = Cuts { out: vec![95..100, 0..5, 40..41], at: vec![50, 0, 100], later: 0 };
        assert_eq!(parts(&cuts, 100), [vec![(5, 40), (41, 50)], vec![(50, 95)]]);
        let all = Cuts { out: vec![0..60, 50..100], ..Cuts::default() };
        assert_eq!(parts(&all, 100), Vec::<Vec<(u64, u64)>>::new());
        let later = Cuts { later: 3, at: vec![50], ..Cuts::default() };
        assert_eq!(parts(&later, 100), [vec![(0, 47)], vec![(50, 97)]]);
        let earlier = Cuts { later: -3, ..Cuts::default() };
        assert_eq!(parts(&earlier, 100), [vec![(3, 100)]]);
        assert_eq!(parts(&earlier, 2), Vec::<Vec<(u64, u64)>>::new());
        assert_eq!(parts(&Cuts::default(), 7), [vec![(0, 7)]]);
    }

    #[test]
    fn each_frame_is_in_one_part_or_left_out() {
        // Pseudo-random spans by a small generator (Lehmer 1951, from memory).
        let mut state = 7_u64;
        let mut random = |below: u64| {
            state = state * 48_271 % 2_147_483_647;
            state % below
        };
        for _ in 0..2000 {
            let frames = random(50);
            let out: Vec<Range<u64>> = (0..random(5))
                .map(|_| {
                    let start = random(50);
                    start..start + random(20)
                })
                .collect();
            let at = (0..random(4)).map(|_| random(50)).collect();
            let cuts = Cuts { out: out.clone(), at, later: 0 };
            let kept: Vec<u64> =
                cuts.parts(frames).into_iter().flat_map(|part| part.frames).flatten().collect();
            let wanted: Vec<u64> =
                (0..frames).filter(|frame| !out.iter().any(|one| one.contains(frame))).collect();
            assert_eq!(kept, wanted, "{cuts:?} of {frames}");
        }
    }

    #[test]
    fn jumps_and_spans_follow_the_stamps() {
        let nan = f64::NAN;
        let times = [5.0, 5.1, nan, 5.2, 5.1, 5.2, 9.0];
        assert_eq!(jumps(&times, 1.0), [4, 6]);
        assert_eq!(within(&times, (0.1, 0.2)), [1..2, 3..6]);
        assert_eq!(within(&[nan], (0.0, 1.0)), Vec::<Range<u64>>::new());
    }
}
