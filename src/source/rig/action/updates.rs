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
    let at = updates(take);
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

/// The same of several episodes together, none of which has updates enough to say it alone: all updates
/// must then fall on the same row of every so many.
pub(super) fn hold_of_all<'t, 'a: 't>(takes: impl Iterator<Item = &'t Take<'a>>) -> Option<u16> {
    let updates: Vec<Vec<usize>> = takes.map(updates).collect();
    let gaps = || updates.iter().flat_map(|at| at.windows(2)).map(|pair| pair[1] - pair[0]);
    let whole = median(&gaps().map(|gap| gap as f64).collect::<Vec<f64>>());
    if gaps().count() < FEWEST || whole < 2.0 || whole.fract() != 0.0 {
        return None;
    }
    let even = gaps().filter(|gap| gap % whole as usize == 0).count();
    (even as f64 >= REGULAR * gaps().count() as f64).then_some(whole as u16)
}

/// The rows in which any action changes.
fn updates(take: &Take<'_>) -> Vec<usize> {
    let changes = |t: &usize| {
        take.pairs.iter().any(|pair| pair.action[*t].to_bits() != pair.action[*t - 1].to_bits())
    };
    (1..take.frames()).filter(changes).collect()
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
    let mut sorted: Vec<f64> = all.iter().flatten().copied().collect();
    sorted.sort_unstable_by(f64::total_cmp);
    let lengths: Vec<usize> = CHUNK.collect();
    let looked: Vec<_> =
        lengths.into_par_iter().map(|length| borders(&all, &sizes, &sorted, length)).collect();
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

/// So many borders of an episode, and this share of them, must show.
const AGAIN: (usize, f64) = (2, 0.75);

/// Whether the actions jump at most of the borders of an episode. What episodes of one task have in common
/// once, such as the row in which the arm starts, is no rhythm.
fn again(all: &[Vec<f64>], (top, length): (usize, usize), usual: f64) -> bool {
    let border = |nth: usize| -> Vec<f64> {
        all.iter().filter_map(|one| one.get(top + nth * length)).copied().collect()
    };
    let enough = |there: &Vec<f64>| 2 * there.len() > all.len();
    let most = all.iter().map(Vec::len).max().unwrap_or(0).div_ceil(length);
    let borders: Vec<f64> =
        (0..most).map(border).take_while(enough).map(|there| median(&there)).collect();
    let shown = borders.iter().filter(|size| **size >= 0.5 * usual).count();
    shown >= AGAIN.0 && shown as f64 >= AGAIN.1 * borders.len() as f64
}

/// By how much the jumps at the borders of chunks of this length exceed the others, 0 where they are no
/// borders; `None` where there are too few. `sorted` are all jumps.
fn borders(all: &[Vec<f64>], sizes: &[Vec<f64>], sorted: &[f64], length: usize) -> Option<f64> {
    let count = |phase: usize| {
        all.iter().map(|one| one.len().saturating_sub(phase).div_ceil(length)).sum::<usize>()
    };
    let counts: Vec<usize> = (0..length).map(count).collect();
    let fewest = counts.iter().copied().min().unwrap_or(0);
    if fewest < CHUNKS {
        return None;
    }
    let farther = FARTHER.0 + FARTHER.1 / (fewest as f64).sqrt();
    if !may_stand_out(all, &counts, farther * least_second(sorted, &counts).max(1.0)) {
        return Some(0.0);
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
    // Half of a jump shows in the rows next to it; a corner of the speed shows in two alike.
    let next = |by: usize| phases[(top + by) % length];
    let alone = next(1).max(next(length - 1)) < BESIDE * phases[top];
    let told = alone
        && ratio > farther
        && at(sizes, top) > SMALLEST
        && again(all, (top, length), phases[top]);
    Some(if told { ratio } else { 0.0 })
}

/// What the largest median of the rows far from a border cannot be below: half of those rows are no
/// larger than it, and of all rows only three in each length are not far.
fn least_second(sorted: &[f64], counts: &[usize]) -> f64 {
    let most = counts.iter().copied().max().unwrap_or(0);
    let far = sorted.len().saturating_sub(3 * most);
    far.div_ceil(2).checked_sub(1).map_or(0.0, |at| sorted[at])
}

/// Whether the median of any row of a chunk may lie beyond this: half of its jumps then do. Mostly none
/// do, and no median need be worked out.
fn may_stand_out(all: &[Vec<f64>], counts: &[usize], limit: f64) -> bool {
    let length = counts.len();
    let mut beyond = vec![0usize; length];
    for chunk in all.iter().flat_map(|one| one.chunks(length)) {
        for (beyond, jump) in beyond.iter_mut().zip(chunk) {
            *beyond += usize::from(*jump > limit);
        }
    }
    beyond.iter().zip(counts).any(|(beyond, count)| 2 * beyond >= *count)
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
