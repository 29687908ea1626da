//! The survey: a few episodes spread over the dataset, from which the rig is learnt.
//!
//! Which episodes are looked at depends on their number alone, never on how the table is cut into
//! files or row groups, so that the same rows always give the same rig.

use std::ops::Range;

use rayon::prelude::*;

use crate::source::input::Input;
use crate::source::shard::frames::Frames;
use crate::source::shard::layout::Layout;
use crate::source::shard::plan::Plan;

/// Episodes looked at.
const EPISODES: usize = 12;
/// Samples that one job reads of one file.
const TOGETHER: usize = 2;
/// Frames of each.
const FRAMES: u64 = 5_000;

/// The first frames of one episode, as stored: times in the unit they have there and values
/// before any conversion.
#[derive(Debug, Default)]
pub(in crate::source) struct Sample {
    pub time: Vec<f64>,
    state: Vec<f32>,
}

impl Sample {
    /// All frames of one joint.
    pub fn joint(&self, joint: usize) -> &[f32] {
        let frames = self.time.len();
        // An episode whose file could not be read has no joints either.
        self.state.get(joint * frames..(joint + 1) * frames).unwrap_or_default()
    }

    /// Adds the frames of the next file.
    fn join(&mut self, next: Frames, joints: usize) {
        if self.time.is_empty() {
            (self.time, self.state) = (next.time_s, next.state);
            return;
        }
        let more = next.time_s.len();
        let mut state = Vec::with_capacity(self.state.len() + next.state.len());
        for joint in 0..joints {
            state.extend_from_slice(self.joint(joint));
            state.extend_from_slice(&next.state[joint * more..(joint + 1) * more]);
        }
        self.time.extend(next.time_s);
        self.state = state;
    }
}

/// Rows of one file that belong to samples, in the order of the file.
struct Share {
    file: usize,
    pieces: Vec<(Range<u64>, usize)>,
    samples: usize,
}

/// Reads the samples, file by file. A file that cannot be read gives none here: it will say so
/// when its episodes are read.
pub(in crate::source) fn survey(plan: &Plan, inputs: &[Input], layout: &Layout) -> Vec<Sample> {
    let chosen = chosen(plan.episodes.len());
    let mut shares: Vec<Share> = Vec::new();
    for (sample, &episode) in chosen.iter().enumerate() {
        for (file, rows) in rows_of(plan, episode) {
            let begun =
                |share: &Share| share.pieces.last().is_some_and(|(_, last)| *last == sample);
            let open =
                |share: &Share| share.file == file && (begun(share) || share.samples < TOGETHER);
            // A sample's pieces stay together; the last share of the file is the one still open.
            let at = shares.iter().rposition(open).unwrap_or_else(|| {
                shares.push(Share { file, pieces: Vec::new(), samples: 0 });
                shares.len() - 1
            });
            let share = &mut shares[at];
            share.samples += usize::from(!begun(share));
            share.pieces.push((rows, sample));
        }
    }
    shares.sort_by_key(|share| share.file);
    let read: Vec<_> = shares.par_iter().map(|share| read(plan, inputs, layout, share)).collect();
    let mut samples: Vec<Sample> = chosen.iter().map(|_| Sample::default()).collect();
    for (sample, frames) in read.into_iter().flatten() {
        samples[sample].join(frames, layout.joints);
    }
    samples
}

/// Numbers of the episodes to look at, spread evenly, first and last among them.
fn chosen(episodes: usize) -> Vec<u32> {
    let many = episodes.min(EPISODES);
    let even = |i: usize| (i * (episodes - 1) / (many - 1).max(1)) as u32;
    (0..many).map(even).collect()
}

/// Reads one file's share.
fn read(plan: &Plan, inputs: &[Input], layout: &Layout, share: &Share) -> Vec<(usize, Frames)> {
    let place = &plan.files[share.file];
    let mut pieces = share.pieces.clone();
    pieces.sort_by_key(|(rows, _)| rows.start);
    let mut held: Vec<(usize, Frames)> = Vec::new();
    for (rows, sample) in &share.pieces {
        let length = (rows.end - rows.start) as usize;
        match held.iter_mut().find(|(known, _)| known == sample) {
            Some((_, frames)) => frames.filled += length,
            None => held.push((*sample, Frames { filled: length, ..Frames::default() })),
        }
    }
    for (_, frames) in &mut held {
        layout.prepare(frames.filled, frames);
    }
    let ranges: Vec<Range<u64>> = pieces.iter().map(|(rows, _)| rows.clone()).collect();
    let Ok(file) = place.table(&inputs[share.file].path, None) else { return Vec::new() };
    let mut left = pieces.into_iter();
    let mut piece = left.next();
    let read = file.table.scan(&layout.wanted(false), &ranges, &mut |batch| {
        let Ok(view) = layout.view(batch) else { return false };
        let mut at = 0;
        while at < batch.num_rows() {
            let Some((rows, sample)) = &mut piece else { return false };
            let take = (batch.num_rows() - at).min((rows.end - rows.start) as usize);
            if let Some((_, frames)) = held.iter_mut().find(|(known, _)| known == sample) {
                view.append(at..at + take, frames, layout);
            }
            at += take;
            rows.start += take as u64;
            if rows.is_empty() {
                piece = left.next();
            }
        }
        true
    });
    if read.is_err() {
        return Vec::new();
    }
    held.retain(|(_, frames)| frames.filled == frames.time_s.len());
    held
}

/// Where the first frames of an episode lie: files and stretches of their rows.
fn rows_of(plan: &Plan, episode: u32) -> Vec<(usize, Range<u64>)> {
    let place = &plan.episodes[episode as usize];
    let mut found = Vec::new();
    let mut left = FRAMES;
    let first = place.rows.input as usize;
    let files = (first..plan.files.len()).take_while(|&f| plan.files[f].base <= place.last);
    for file in files {
        let runs = plan.runs_of(file);
        let start = if file == first { place.rows.start } else { 0 };
        let from = runs.partition_point(|r| u64::from(r.start) < start);
        for at in (from..runs.len()).filter(|&at| runs[at].episode == episode) {
            let next = runs.get(at + 1).map_or(plan.files[file].rows, |r| u64::from(r.start));
            let start = u64::from(runs[at].start);
            let end = next.min(start + left);
            found.push((file, start..end));
            left -= end - start;
            if left == 0 {
                return found;
            }
        }
    }
    found
}
