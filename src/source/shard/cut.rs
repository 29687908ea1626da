//! Cuts the dataset into shards of whole episodes, wherever row-group borders fall.
//!
//! Rows are taken in the order of the dataset. Episodes whose extents overlap cannot be separated.
//! Between such segments a cut is possible. It is made as soon as possible after the end of a row
//! group or file, so that no row group is decoded twice for more than a few rows. Rows before
//! a cut inside a row group have to be skipped, which costs about a quarter of decoding them: a
//! large row group is therefore shared only where the dataset has few of them and would otherwise
//! leave cores idle.

use std::ops::Range;

use crate::source::shard::plan::{FilePlan, Plan};
use crate::source::shard::runs::NONE;

/// A shard is worth its overhead from this many rows on.
const ENOUGH: u64 = 32 << 10;
/// Or from this many files.
const FILES: usize = 16;
/// Row groups of less than twice this are never shared.
const PIECE: u64 = 128 << 10;
/// A row group is shared by at most this many shards: eight read it at twice the cost of one.
const PIECES: u64 = 8;
/// With this many pieces no core is idle for long and row groups are not shared further.
const MANY: u64 = 12;
/// Episodes read at the same time hold at most this many rows, unless a single one is longer:
/// 28 MB with six joints a side. Interleaved episodes beyond it are read in several passes.
const BUDGET: u64 = 512 << 10;

/// Some whole episodes and the rows among which theirs are.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(in crate::source) struct Shard {
    /// Rows of the dataset.
    pub rows: Range<u64>,
    /// Episodes, by number.
    pub episodes: Range<u32>,
}

/// Cuts.
pub(in crate::source) fn cut(plan: &Plan) -> Vec<Shard> {
    let points = points(&plan.files);
    let mut shards = Vec::new();
    let mut open = Shard { rows: 0..0, episodes: 0..0 };
    let mut first_file = 0;
    let mut next_point = 0;
    let mut segment = open.clone();
    for file in 0..plan.files.len() {
        let base = plan.files[file].base;
        let runs = plan.runs_of(file);
        for (at, run) in runs.iter().enumerate() {
            let end = runs.get(at + 1).map_or(plan.files[file].rows, |r| u64::from(r.start)) + base;
            if run.episode != NONE {
                segment.episodes.end = segment.episodes.end.max(run.episode + 1);
                let last = plan.episodes[run.episode as usize].last + 1;
                segment.rows.end = segment.rows.end.max(last);
            }
            segment.rows.end = segment.rows.end.max(end);
            if segment.rows.end > end {
                continue;
            }
            let rows = segment.rows.end - segment.rows.start;
            if rows > BUDGET && segment.episodes.len() > 1 {
                push(&mut shards, &open);
                passes(plan, &segment, &mut shards);
                open = Shard { rows: end..end, ..after(&segment) };
                first_file = file;
            } else {
                (open.rows.end, open.episodes.end) = (end, segment.episodes.end);
                // A row group or file ended within this very segment.
                let passed = points.get(next_point).is_some_and(|&p| p <= end);
                let enough = end - open.rows.start >= ENOUGH && passed;
                if enough || (passed && file >= first_file + FILES - 1) {
                    push(&mut shards, &open);
                    open = Shard { rows: end..end, ..after(&open) };
                    first_file = file + 1;
                }
            }
            while points.get(next_point).is_some_and(|&p| p <= end) {
                next_point += 1;
            }
            segment = Shard { rows: end..end, ..after(&segment) };
        }
    }
    push(&mut shards, &open);
    shards
}

fn after(shard: &Shard) -> Shard {
    Shard { rows: 0..0, episodes: shard.episodes.end..shard.episodes.end }
}

fn push(shards: &mut Vec<Shard>, shard: &Shard) {
    if !shard.episodes.is_empty() {
        shards.push(shard.clone());
    }
}

/// Several passes over the rows of one segment, each for as many episodes as memory allows.
fn passes(plan: &Plan, segment: &Shard, shards: &mut Vec<Shard>) {
    let mut episodes = segment.episodes.start..segment.episodes.start;
    let mut held = 0;
    for episode in segment.episodes.clone() {
        let frames = plan.episodes[episode as usize].frames;
        if held > 0 && held + frames > BUDGET {
            push(shards, &Shard { rows: segment.rows.clone(), episodes: episodes.clone() });
            episodes.start = episode;
            held = 0;
        }
        episodes.end = episode + 1;
        held += frames;
    }
    push(shards, &Shard { rows: segment.rows.clone(), episodes });
}

/// Rows after which a cut is welcome.
fn points(files: &[FilePlan]) -> Vec<u64> {
    let groups: usize = files.iter().map(|f| f.ends.len().max(1)).sum();
    let worth_while = MANY.div_ceil(groups.max(1) as u64).min(PIECES);
    let mut points = Vec::with_capacity(groups);
    for file in files {
        let whole = [file.rows];
        let ends = if file.ends.is_empty() { &whole[..] } else { &file.ends };
        let mut start = 0;
        for &end in ends {
            let pieces = ((end - start) / PIECE).clamp(1, worth_while);
            let piece = |n: u64| file.base + start + (end - start) * n / pieces;
            points.extend((1..=pieces).map(piece));
            start = end;
        }
    }
    points
}
