//! Where the rows of each episode are.

use std::ops::Range;

use crate::model::EpisodeIndex;
use crate::source::dataset::Dataset;
use crate::source::shard::runs::NONE;

/// Rows of one input.
pub type Stretch = (usize, Range<u64>);

/// The rows of each episode, in their order, and those of none.
#[derive(Debug, Default)]
pub struct EpisodeRows {
    of: Vec<Vec<Stretch>>,
    /// Rows without an episode.
    pub of_none: u64,
}

impl EpisodeRows {
    /// Of all episodes.
    pub fn of(source: &Dataset) -> Self {
        let plan = source.stored().0;
        let mut rows = Self { of: vec![Vec::new(); plan.episodes.len()], of_none: 0 };
        for (file, place) in plan.files.iter().enumerate() {
            let runs = plan.runs_of(file);
            for (at, run) in runs.iter().enumerate() {
                let end = runs.get(at + 1).map_or(place.rows, |next| u64::from(next.start));
                let stretch = u64::from(run.start)..end;
                if run.episode == NONE {
                    rows.of_none += stretch.end - stretch.start;
                } else {
                    rows.of[run.episode as usize].push((file, stretch));
                }
            }
        }
        rows
    }

    /// Of one episode.
    pub fn episode(&self, index: EpisodeIndex) -> &[Stretch] {
        self.of.get(index.get() as usize).map_or(&[], Vec::as_slice)
    }

    /// How many rows an episode has: its frames.
    pub fn frames(&self, index: EpisodeIndex) -> u64 {
        self.episode(index).iter().map(|(_, rows)| rows.end - rows.start).sum()
    }

    /// Where these frames of an episode are, each with the number of its first frame.
    pub fn of_frames(&self, index: EpisodeIndex, frames: &Range<u64>) -> Vec<(Stretch, u64)> {
        let mut before = 0;
        let mut found = Vec::new();
        for (input, rows) in self.episode(index) {
            let length = rows.end - rows.start;
            let from = frames.start.max(before).min(before + length);
            let to = frames.end.max(before).min(before + length);
            if from < to {
                let stretch = rows.start + (from - before)..rows.start + (to - before);
                found.push(((*input, stretch), from));
            }
            before += length;
        }
        found
    }

    /// Every episode.
    pub fn indices(&self) -> impl Iterator<Item = EpisodeIndex> + use<> {
        (0..self.of.len() as u64).map(EpisodeIndex::new)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn frames_are_found_across_stretches() {
        let rows = EpisodeRows { of: vec![vec![(0, 10..15), (1, 0..3), (1, 8..10)]], of_none: 0 };
        let index = EpisodeIndex::new(0);
        assert_eq!(rows.frames(index), 10);
        let wanted = [((0, 14..15), 4), ((1, 0..3), 5), ((1, 8..9), 8)];
        assert_eq!(rows.of_frames(index, &(4..9)), wanted);
        assert_eq!(rows.of_frames(index, &(5..5)), []);
    }
}
