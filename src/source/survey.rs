//! The survey: a few episodes spread over the dataset, from which the rig is learnt.
//!
//! Which episodes are looked at depends on their number alone, never on how the table is cut into
//! files or row groups, so that the same rows always give the same rig.

use std::ops::Range;
use std::sync::OnceLock;

use super::Input;
use super::RunJobs;
use super::plan::Plan;
use super::setup::{Frames, Setup};
use super::table::{Known, Table};

/// Episodes looked at.
const EPISODES: usize = 24;
/// Frames of each.
const FRAMES: u64 = 5_000;

/// The first frames of one episode, as stored: times and values before any conversion.
#[derive(Debug, Default)]
pub(super) struct Sample {
    pub time: Vec<f64>,
    pub state: Vec<f32>,
}

impl Sample {
    /// All frames of one joint.
    pub fn joint(&self, joint: usize) -> &[f32] {
        let frames = self.time.len();
        &self.state[joint * frames..(joint + 1) * frames]
    }
}

/// Reads the samples, file by file. A file that cannot be read gives none here: it will say so
/// when its episodes are read.
pub(super) fn survey(
    plan: &Plan,
    inputs: &[Input],
    setup: &Setup,
    jobs: RunJobs<'_>,
) -> Vec<Sample> {
    let chosen = chosen(plan.episodes.len());
    let mut files: Vec<(usize, Vec<u32>)> = Vec::new();
    for episode in chosen {
        let file = plan.episodes[episode as usize].rows.input as usize;
        match files.iter_mut().find(|(known, _)| *known == file) {
            Some((_, episodes)) => episodes.push(episode),
            None => files.push((file, vec![episode])),
        }
    }
    let slots: Vec<OnceLock<Vec<Sample>>> = files.iter().map(|_| OnceLock::new()).collect();
    jobs(files.len(), &|job| {
        let (file, episodes) = &files[job];
        let _ = slots[job].set(samples(plan, inputs, setup, *file, episodes));
    });
    slots.into_iter().filter_map(OnceLock::into_inner).flatten().collect()
}

/// Numbers of the episodes to look at, spread evenly, first and last among them.
fn chosen(episodes: usize) -> Vec<u32> {
    let many = episodes.min(EPISODES);
    let spread = |i: usize| (i * (episodes - 1) / (many - 1).max(1)) as u32;
    (0..many).map(spread).collect()
}

/// The samples of one file's episodes: rows of the episode in this file, the first ones.
fn samples(
    plan: &Plan,
    inputs: &[Input],
    setup: &Setup,
    file: usize,
    episodes: &[u32],
) -> Vec<Sample> {
    let place = &plan.files[file];
    let mut pieces: Vec<(Range<u64>, usize)> = Vec::new();
    let mut frames: Vec<Frames> = Vec::new();
    for (number, &episode) in episodes.iter().enumerate() {
        let mut held = 0;
        for rows in rows_of(plan, file, episode) {
            let end = rows.end.min(rows.start + FRAMES - held);
            held += end - rows.start;
            pieces.push((rows.start..end, number));
            if held == FRAMES {
                break;
            }
        }
        let mut fresh = Frames::default();
        fresh.prepare(held as usize, setup);
        frames.push(fresh);
    }
    pieces.sort_by_key(|(rows, _)| rows.start);
    let ranges: Vec<Range<u64>> = pieces.iter().map(|(rows, _)| rows.clone()).collect();
    let known = Known { stamp: Some(place.stamp), footer: None, ends: &place.ends };
    let Ok(table) = Table::reopen(&inputs[file].path, known) else { return Vec::new() };
    let mut left = pieces.into_iter();
    let mut piece = left.next();
    let read = table.scan(&setup.wanted(false), &ranges, &mut |batch| {
        let Ok(view) = setup.view(batch) else { return false };
        let mut at = 0;
        while at < batch.num_rows() {
            let Some((rows, number)) = &mut piece else { return false };
            let take = (batch.num_rows() - at).min((rows.end - rows.start) as usize);
            view.append(at..at + take, &mut frames[*number], setup);
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
    let full = |f: Frames| (f.filled == f.time_s.len()).then_some(f);
    let sample = |f: Frames| Sample { time: f.time_s, state: f.state };
    frames.into_iter().filter_map(full).map(sample).collect()
}

/// The stretches of an episode's rows in a file.
fn rows_of(plan: &Plan, file: usize, episode: u32) -> impl Iterator<Item = Range<u64>> + '_ {
    let runs = plan.runs_of(file);
    let rows = plan.files[file].rows;
    let start = plan.episodes[episode as usize].rows.start;
    let first = runs.partition_point(|r| u64::from(r.start) < start);
    (first..runs.len()).filter(move |&at| runs[at].episode == episode).map(move |at| {
        let end = runs.get(at + 1).map_or(rows, |next| u64::from(next.start));
        u64::from(runs[at].start)..end
    })
}
