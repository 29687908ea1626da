//! When the actions change: in every frame, every so many frames, or with a jump where a chunk begins.

use rayon::prelude::*;

use crate::num::quantile::median_in_place;
use crate::num::robust::median;
use crate::source::rig::action::borders::BESIDE;
use crate::source::rig::action::take::Take;

/// Fewer updates show no rhythm.
const FEWEST: usize = 8;
/// Longest hold, in seconds.
const LONGEST_S: f64 = 0.6;
/// Share of the updates that must keep the rhythm.
const REGULAR: f64 = 0.85;

/// Frames from one update to the next where the actions are held in between; 1 where they are new in
/// every frame; `None` where nothing can be said.
pub(super) fn hold(take: &Take<'_>, period_s: f64) -> Option<u16> {
    let frames = take.frames();
    let changes = |t: usize| {
        take.pairs.iter().any(|pair| pair.action[t].to_bits() != pair.action[t - 1].to_bits())
    };
    let at: Vec<usize> = (1..frames).filter(|t| changes(*t)).collect();
    let longest = (LONGEST_S / period_s).max(10.0);
    let mut gaps: Vec<f64> = at.windows(2).map(|pair| (pair[1] - pair[0]) as f64).collect();
    gaps.retain(|gap| *gap <= longest);
    if gaps.len() < FEWEST {
        return None;
    }
    let typical = median(&gaps);
    // Rests are no holds.
    gaps.retain(|gap| *gap < 1.5 * typical + 0.5);
    let mean = gaps.iter().sum::<f64>() / gaps.len() as f64;
    if mean < 1.3 {
        return Some(1);
    }
    let share = |keeps: &dyn Fn(f64) -> bool| {
        gaps.iter().filter(|gap| keeps(**gap)).count() as f64 / gaps.len() as f64
    };
    let whole = mean.round();
    let even = share(&|gap| gap == whole) >= REGULAR;
    let beat = share(&|gap| (gap - mean).abs() < 1.0) >= REGULAR && steady(&at, mean, longest);
    let regular = (whole >= 2.0 && even && phases_agree(&at, whole)) || (beat && mean >= 1.4);
    Some(if regular { whole.max(2.0) as u16 } else { 1 })
}

/// Whether updates fall on the same row of every `whole` rows: what only happens to be even from one
/// update to the next drifts away after a few.
fn phases_agree(at: &[usize], whole: f64) -> bool {
    let whole = whole as usize;
    let runs = at.chunks(FEWEST).filter(|run| run.len() == FEWEST);
    let (mut all, mut kept) = (0, 0);
    for run in runs {
        all += 1;
        let same = run.iter().filter(|t| (**t - run[0]) % whole == 0).count();
        kept += usize::from(same + 1 >= FEWEST);
    }
    all > 0 && 2 * kept > all
}

/// Whether stretches without a rest keep a rhythm that is no whole number of frames.
fn steady(at: &[usize], mean: f64, longest: f64) -> bool {
    let (mut all, mut kept) = (0, 0);
    for run in at.chunks(2 * FEWEST).filter(|run| run.len() == 2 * FEWEST) {
        if run.windows(2).any(|pair| (pair[1] - pair[0]) as f64 > (2.0 * mean).min(longest)) {
            continue;
        }
        all += 1;
        let period = (run[run.len() - 1] - run[0]) as f64 / (run.len() - 1) as f64;
        let off = |n: usize| (run[n] - run[0]) as f64 - period * n as f64;
        kept += usize::from((0..run.len()).all(|n| off(n).abs() <= 1.0));
    }
    all > 0 && 2 * kept > all
}

/// Shortest and longest chunk, in frames.
const CHUNK: std::ops::RangeInclusive<usize> = 4..=120;
/// How much farther the action jumps where a chunk begins than at any other row of it: of many chunks
/// less is enough.
const FARTHER: (f64, f64) = (1.6, 3.0);
/// Fewer chunks show no rhythm.
const CHUNKS: usize = 8;
/// Frames in which borders are looked for, in all episodes together.
pub(super) const SEARCHED: usize = 6_000;

/// Frames of a chunk, where the actions jump at regular distances; `None` where they do not. The
/// first chunk begins with the episode.
pub(super) fn chunk<'t, 'a: 't>(
    takes: impl ExactSizeIterator<Item = &'t Take<'a>>,
) -> Option<usize> {
    let frames = SEARCHED / takes.len().max(1);
    let (all, sizes): (Vec<Vec<f64>>, Vec<Vec<f64>>) =
        takes.map(|take| jumps(take, frames)).unzip();
    let lengths: Vec<usize> = CHUNK.collect();
    let looked: Vec<_> =
        lengths.into_par_iter().map(|length| borders(&all, &sizes, length)).collect();
    // The first length with too few chunks ends the search.
    let enough = looked.into_iter().map_while(|ratio| ratio);
    let mut best: Option<(f64, usize)> = None;
    for (ratio, length) in enough.zip(CHUNK) {
        if ratio > 0.0 && best.is_none_or(|(known, _)| ratio > known) {
            best = Some((ratio, length));
        }
    }
    best.map(|(_, length)| length)
}

/// By how much the jumps at the borders of chunks of this length exceed the others, 0 where they are no
/// borders; `None` where there are too few.
fn borders(all: &[Vec<f64>], sizes: &[Vec<f64>], length: usize) -> Option<f64> {
    let count = |phase: usize| {
        all.iter().map(|one| one.len().saturating_sub(phase).div_ceil(length)).sum::<usize>()
    };
    let fewest = (0..length).map(count).min().unwrap_or(0);
    if fewest < CHUNKS {
        return None;
    }
    let mut there: Vec<f64> = Vec::new();
    let mut at = |series: &[Vec<f64>], phase: usize| {
        there.clear();
        there.extend(series.iter().flat_map(|one| one.iter().skip(phase).step_by(length)));
        median_in_place(&mut there)
    };
    let phases: Vec<f64> = (0..length).map(|phase| at(all, phase)).collect();
    let top = (0..length).max_by(|a, b| phases[*a].total_cmp(&phases[*b])).unwrap_or(0);
    let apart = |phase: usize| (phase + length - top) % length;
    let apart_far = |phase: &usize| (2..length - 1).contains(&apart(*phase));
    let second = (0..length).filter(apart_far).map(|phase| phases[phase]).fold(0.0, f64::max);
    // On a sensor's grid most rows show nothing: a step of it, usual in one joint, is no border.
    let ratio = phases[top] / second.max(1.0);
    let farther = FARTHER.0 + FARTHER.1 / (fewest as f64).sqrt();
    // Half of a jump shows in the rows next to it; a corner of the speed shows in two alike.
    let next = |by: usize| phases[(top + by) % length];
    let alone = next(1).max(next(length - 1)) < BESIDE * phases[top];
    let told = alone && ratio > farther && at(sizes, top) > SMALLEST;
    Some(if told { ratio } else { 0.0 })
}

/// A jump is at least this share of a joint's mean step: where nothing is rough, a change of the
/// acceleration stands out as well.
const SMALLEST: f64 = 0.1;

/// By how much the step to each frame departs from the steps before and after, over all joints: each
/// in units of its own usual departure, and in units of its mean step, as a mean over the joints.
fn jumps(take: &Take<'_>, most: usize) -> (Vec<f64>, Vec<f64>) {
    let frames = take.frames().min(most);
    let count = frames.saturating_sub(3);
    let (mut all, mut sizes) = (vec![0.0; count], vec![0.0; count]);
    for pair in &take.pairs {
        let value = |t: usize| f64::from(pair.action[t]);
        let step = |t: usize| value(t + 1) - value(t);
        let own: Vec<f64> =
            (1..=count).map(|t| (step(t) - 0.5 * (step(t - 1) + step(t + 1))).abs()).collect();
        let moving: Vec<f64> = own.iter().copied().filter(|v| *v > 0.0).collect();
        let usual = median(&moving);
        let mean = (0..count).map(|t| step(t).abs()).sum::<f64>() / count.max(1) as f64;
        if usual > 0.0 && mean > 0.0 {
            let scale = 1.0 / (mean * take.pairs.len() as f64);
            for ((sum, size), one) in all.iter_mut().zip(&mut sizes).zip(own) {
                *sum += one / usual;
                *size += one * scale;
            }
        }
    }
    (all, sizes)
}
