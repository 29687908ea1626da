//! Whether one set of signals is a copy of another, some rows later: to the last bit, rounded, of
//! changing age, or with noise added.
//!
//! A command and its answer are alike too, where a servo is stiff. But they are never equal: what is
//! left between them follows the motion. What is left between a signal and its copy does not.

use std::ops::RangeInclusive;

use pulp::{cast, f64x4};

use super::wide::{eight_fn, eight_from};

/// Signals of one channel: the original and what may be a copy of it.
pub type Pair<'a> = (&'a [f32], &'a [f32]);

/// Ages looked at: the copy holds the original of so many rows later.
const ROWS: RangeInclusive<isize> = -1..=5;
/// Rows looked at.
const LOOKED: usize = 512;
/// Fewer fast rows say nothing.
const FEWEST: usize = 20;
/// A channel is fast in a row if its step is this many of its smallest ones: then rows are distinguished.
const FAST: f32 = 4.0;
/// Nearly all fast rows must be copies.
const SHARE: f64 = 0.99;

/// What was found.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Copied {
    /// Share of the rows that are copies.
    pub share: f64,
    /// By how many rows the original is later; none where that changes from row to row.
    pub rows: Option<i8>,
    /// Whether the copy is exact.
    pub exact: bool,
}

/// The plainest way in which the second signals are copies of the first; `None` where they are not,
/// or where too little moves.
pub fn copied(pairs: &[Pair<'_>]) -> Option<Copied> {
    exact(pairs).or_else(|| rounded(pairs)).or_else(|| noisy(pairs))
}

/// The smallest step of a signal.
fn grid(values: &[f32], stride: usize) -> f32 {
    let least = |least: f32, (now, then): (&f32, &f32)| {
        let step = (then - now).abs();
        if step > 0.0 && step < least { step } else { least }
    };
    let next = values.get(1..).unwrap_or(&[]);
    if stride > 1 {
        return values.iter().zip(next).step_by(stride).fold(f32::INFINITY, least);
    }
    // Most episodes are short enough for every row; lanes of their own become vector code.
    let (now, rest) = values[..next.len()].as_chunks::<16>();
    let (then, next) = next.as_chunks::<16>();
    let mut lanes = [f32::INFINITY; 16];
    for (now, then) in now.iter().zip(then) {
        for lane in 0..16 {
            lanes[lane] = least(lanes[lane], (&now[lane], &then[lane]));
        }
    }
    let all = rest.iter().zip(next).fold(f32::INFINITY, least);
    lanes.into_iter().fold(all, f32::min)
}

/// The rows that can be compared at every age.
fn rows(pairs: &[Pair<'_>]) -> (std::ops::Range<usize>, usize) {
    let frames = pairs.first().map_or(0, |pair| pair.0.len().min(pair.1.len()));
    let (first, last) = (2, frames.saturating_sub(*ROWS.end() as usize + 2));
    (first..last, (last.saturating_sub(first) / LOOKED).max(1))
}

fn later(row: usize, by: isize) -> usize {
    row.saturating_add_signed(by)
}

/// Whether single rows are equal at some age, in all channels that are fast there.
fn exact(pairs: &[Pair<'_>]) -> Option<Copied> {
    let (range, stride) = rows(pairs);
    let fast: Vec<f32> = pairs.iter().map(|pair| FAST * grid(pair.0, stride)).collect();
    let bearable = bearable(&range, stride, SHARE);
    let (mut all, mut any) = (0usize, 0usize);
    let mut at = [0usize; 7];
    for row in range.step_by(stride) {
        let (mut quick, mut same) = (false, [true; 7]);
        for ((state, action), fast) in pairs.iter().zip(&fast) {
            let steps = [state[row + 1] - state[row], state[row] - state[row - 1]];
            if steps.iter().any(|step| step.abs() < *fast || step.is_nan()) {
                continue;
            }
            quick = true;
            for (same, by) in same.iter_mut().zip(ROWS) {
                *same &= action[row].to_bits() == state[later(row, by)].to_bits();
            }
        }
        if !quick {
            continue;
        }
        all += 1;
        any += usize::from(same.contains(&true));
        // Too many are no copies at any age.
        if all - any > bearable {
            return None;
        }
        for (count, same) in at.iter_mut().zip(same) {
            *count += usize::from(same);
        }
    }
    if all < FEWEST {
        return None;
    }
    let share = |count: usize| count as f64 / all as f64;
    let best = (0..at.len()).max_by_key(|n| at[*n])?;
    if share(at[best]) >= SHARE {
        let rows = Some((best as isize + ROWS.start()) as i8);
        return Some(Copied { share: share(at[best]), rows, exact: true });
    }
    (share(any) >= SHARE).then(|| Copied { share: share(any), rows: None, exact: true })
}

/// So many rows may differ at most, if this share of them is to be alike.
fn bearable(range: &std::ops::Range<usize>, stride: usize, share: f64) -> usize {
    ((1.0 - share) * range.len().div_ceil(stride) as f64) as usize + 1
}

/// Whether the second signals are the first ones on a coarser grid.
fn rounded(pairs: &[Pair<'_>]) -> Option<Copied> {
    let (range, stride) = rows(pairs);
    let grids: Vec<f32> = pairs.iter().map(|pair| grid(pair.1, stride)).collect();
    // 0 where it is below the share asked for.
    let share = |by: isize, asked: f64| {
        let bearable = bearable(&range, stride, asked);
        let (mut all, mut near) = (0usize, 0usize);
        for row in range.clone().step_by(stride) {
            let (mut quick, mut kept) = (false, true);
            for ((state, action), grid) in pairs.iter().zip(&grids) {
                let at = later(row, by);
                let step = 0.5 * (state[at + 1] - state[at - 1]).abs();
                if step < 0.5 * grid {
                    continue;
                }
                quick = true;
                // Half a step of the grid, and what single precision leaves of it.
                let most = 0.51 * grid + 4.0 * f32::EPSILON * action[row].abs();
                kept &= (action[row] - state[at]).abs() <= most;
                if !kept {
                    break;
                }
            }
            all += usize::from(quick);
            near += usize::from(quick && kept);
            if all - near > bearable {
                return 0.0;
            }
        }
        if all < FEWEST { 0.0 } else { near as f64 / all as f64 }
    };
    let best = ROWS.map(|by| (by, share(by, SHARE))).max_by(|a, b| a.1.total_cmp(&b.1))?;
    if best.1 < SHARE {
        return None;
    }
    // At another age they must not be: else nothing moves fast enough to tell.
    let beside = |by: isize| ROWS.contains(&by) && share(by, 0.95) > 0.95;
    let told = !beside(best.0 - 1) && !beside(best.0 + 1);
    told.then_some(Copied { share: best.1, rows: Some(best.0 as i8), exact: false })
}

/// A correlation from row to row above this is of motion, not of noise.
const WHITE: f64 = 0.25;
/// Rows by which a copy with noise may seem to be late.
const LATE: f64 = 0.02;
/// Fewer rows do not tell noise from motion.
const FEWEST_NOISY: f64 = 40.0;

/// Whether the second signals are those of the same row with noise added: what is left between them is
/// white, does not go with the speed, and makes the copy rougher than the original by just as much.
fn noisy(pairs: &[Pair<'_>]) -> Option<Copied> {
    let (mut told, mut noise) = (0, 0);
    for is_noise in pairs.iter().filter_map(is_noise) {
        told += 1;
        noise += usize::from(is_noise);
        // Too many are none already.
        if 5 * (told - noise) > pairs.len() {
            return None;
        }
    }
    let most = told > 0 && 5 * noise >= 4 * told;
    most.then_some(Copied { share: 1.0, rows: Some(0), exact: false })
}

/// `None` where the channel does not move far enough to tell.
fn is_noise((state, action): &Pair<'_>) -> Option<bool> {
    let frames = state.len().min(action.len());
    let n = frames.saturating_sub(2) as f64;
    if n < FEWEST_NOISY {
        return None;
    }
    let inner = || 1..frames - 1;
    let (state, action) = (&state[..frames], &action[..frames]);
    let mean = rest(&state[1..frames - 1], &action[1..frames - 1]) / n;
    let [square, beside, fast, along] = products(state, action, mean);
    if !(square > 0.0 && fast > 0.0) {
        return None;
    }
    let sigma = (square / n).sqrt();
    let unsure = sigma / fast.sqrt();
    if unsure > 0.05 {
        return None;
    }
    let bend = |values: &[f32]| {
        let of = |t: usize| {
            f64::from(values[t + 1]) - 2.0 * f64::from(values[t]) + f64::from(values[t - 1])
        };
        inner().map(|t| of(t) * of(t)).sum::<f64>() / n
    };
    let rougher = || {
        let (state, action) = (bend(state), bend(action));
        // On slow logs the bends of the motion hide what noise adds to them: then the rest has to do.
        let hidden = 6f64.sqrt() * 2.0 * (state / n).sqrt() > 1.5 * sigma;
        hidden || action - state > 3.0 * sigma * sigma
    };
    Some(
        (beside / square).abs() < WHITE
            && (along / fast).abs() < LATE + 3.0 * unsure
            && mean.abs() < sigma * (0.1 + 3.0 / n.sqrt())
            && rougher(),
    )
}

eight_fn! {
    /// Sum of what is left between two signals.
    fn rest<'a>(simd, state: &'a [f32], action: &'a [f32]) -> f64 {
        let ((states, s), (actions, a)) = (state.as_chunks::<8>(), action.as_chunks::<8>());
        let mut sum = simd.splat_f64s(0.0);
        for (state, action) in states.iter().zip(actions) {
            let (state, action) = (simd.doubled(cast(*state)), simd.doubled(cast(*action)));
            for half in 0..2 {
                sum = simd.add_f64s(sum, simd.sub_f64s(action[half], state[half]));
            }
        }
        let last: f64 = s.iter().zip(a).map(|(s, a)| f64::from(*a) - f64::from(*s)).sum();
        last + cast::<f64x4, [f64; 4]>(sum).iter().sum::<f64>()
    }
}

eight_fn! {
    /// Over all inner rows: what is left, less its mean, squared, times the next, and times the speed;
    /// and the speed squared, before the last.
    fn products<'a>(simd, state: &'a [f32], action: &'a [f32], mean: f64) -> [f64; 4] {
        let n = state.len() - 2;
        let (means, half_step) = (simd.splat_f64s(mean), simd.splat_f64s(0.5));
        let mut sums = [simd.splat_f64s(0.0); 4];
        let mut at = 0;
        while at + 8 <= n {
            let before = simd.doubled(eight_from(state, at));
            let now = simd.doubled(eight_from(state, at + 1));
            let then = simd.doubled(eight_from(state, at + 2));
            let a = simd.doubled(eight_from(action, at + 1));
            let next = simd.doubled(eight_from(action, at + 2));
            for half in 0..2 {
                let r = simd.sub_f64s(simd.sub_f64s(a[half], now[half]), means);
                let after = simd.sub_f64s(simd.sub_f64s(next[half], then[half]), means);
                let v = simd.mul_f64s(half_step, simd.sub_f64s(then[half], before[half]));
                sums[0] = simd.add_f64s(sums[0], simd.mul_f64s(r, r));
                sums[1] = simd.add_f64s(sums[1], simd.mul_f64s(r, after));
                sums[2] = simd.add_f64s(sums[2], simd.mul_f64s(v, v));
                sums[3] = simd.add_f64s(sums[3], simd.mul_f64s(r, v));
            }
            at += 8;
        }
        let mut sums = sums.map(|sum| cast::<f64x4, [f64; 4]>(sum).iter().sum::<f64>());
        for t in at + 1..=n {
            let rest = |t: usize| f64::from(action[t]) - f64::from(state[t]) - mean;
            let v = 0.5 * (f64::from(state[t + 1]) - f64::from(state[t - 1]));
            let (r, after) = (rest(t), rest(t + 1));
            for (sum, (x, y)) in sums.iter_mut().zip([(r, r), (r, after), (v, v), (r, v)]) {
                *sum += x * y;
            }
        }
        sums
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn wave(channel: usize, t: f64) -> f32 {
        let k = channel as f64;
        ((0.031 + 0.004 * k) * t).sin().mul_add(0.7, 0.3 * (0.013 * t + k).cos()) as f32
    }

    fn dice(n: usize) -> f32 {
        let mut mixed = (n as u64 + 1).wrapping_mul(0x9E37_79B9_7F4A_7C15);
        mixed = (mixed ^ (mixed >> 31)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        (mixed >> 40) as f32 / (1u32 << 23) as f32 - 1.0
    }

    fn found(copy: impl Fn(&[f32], usize, usize) -> f32) -> Option<Copied> {
        let states: Vec<Vec<f32>> =
            (0..4).map(|c| (0..500).map(|t| wave(c, f64::from(t))).collect()).collect();
        let copies: Vec<Vec<f32>> = states
            .iter()
            .enumerate()
            .map(|(c, s)| (0..500).map(|t| copy(s, c, t)).collect())
            .collect();
        let pairs: Vec<Pair<'_>> =
            states.iter().zip(&copies).map(|(s, a)| (s.as_slice(), a.as_slice())).collect();
        copied(&pairs)
    }

    fn of(s: &[f32], t: usize) -> f32 {
        s[t.min(s.len() - 1)]
    }

    #[test]
    fn copies_of_every_make_are_found_with_their_age() {
        let age = |c: Option<Copied>| c.map(|c| (c.rows, c.exact));
        assert_eq!(age(found(|s, _, t| of(s, t))), Some((Some(0), true)));
        assert_eq!(age(found(|s, _, t| of(s, t + 2))), Some((Some(2), true)));
        assert_eq!(age(found(|s, _, t| of(s, t - t.min(1)))), Some((Some(-1), true)));
        let rounded = found(|s, _, t| (of(s, t + 1) * 100.0).round() / 100.0);
        assert_eq!(age(rounded), Some((Some(1), false)));
        let noisy = found(|s, c, t| of(s, t) + 0.002 * dice(t * 7 + c));
        assert_eq!(age(noisy), Some((Some(0), false)));
        let stale = found(|s, _, t| of(s, t - usize::from(dice(t) > 0.0).min(t)));
        assert_eq!(age(stale), Some((None, true)));
    }

    /// Six seconds at 10 Hz: the steps of the motion are hundreds of times the noise.
    #[test]
    fn a_copy_with_noise_is_found_in_a_short_slow_log_too() {
        for noise in [2e-4, 1e-3] {
            let told = |late: f64| {
                let at = |c: usize, t: f64| {
                    let k = c as f64;
                    (0.25 + 0.04 * k + 1e-3 * t).mul_add(t, k).sin() * 0.7
                };
                let side = |off: f64, noise: f64| -> Vec<Vec<f32>> {
                    let rows = |c: usize| {
                        let noise = move |t: usize| noise * f64::from(dice(t * 7 + c));
                        (0..60).map(move |t| (at(c, t as f64 - off) + noise(t)) as f32).collect()
                    };
                    (0..6).map(rows).collect()
                };
                let (states, actions) = (side(late, 0.0), side(0.0, noise));
                let pairs: Vec<Pair<'_>> = states
                    .iter()
                    .zip(&actions)
                    .map(|(s, a)| (s.as_slice(), a.as_slice()))
                    .collect();
                copied(&pairs)
            };
            let noisy = told(0.0).map(|copied| (copied.rows, copied.exact));
            assert_eq!(noisy, Some((Some(0), false)), "{noise}");
            assert_eq!((told(0.1), told(0.6)), (None, None), "{noise}");
        }
    }

    #[test]
    fn a_stiff_follower_is_no_copy() {
        // Late by a part of a row, with a servo's error, and with the noise of the sensor.
        for late in [0.0, 0.1, 0.5, 0.97, 1.0, 2.0] {
            for noise in [0.0, 2e-4, 2e-3] {
                let states: Vec<Vec<f32>> = (0..4)
                    .map(|c| {
                        let at = |t: usize| {
                            let t = t as f64 - late;
                            let (now, before) = (wave(c, t), wave(c, t - 1.0));
                            // A servo of first order besides the delay.
                            now - 0.05 * (now - before) + noise * dice(t as usize * 5 + c)
                        };
                        (0..500).map(at).collect()
                    })
                    .collect();
                let leads: Vec<Vec<f32>> =
                    (0..4).map(|c| (0..500).map(|t| wave(c, f64::from(t))).collect()).collect();
                let pairs: Vec<Pair<'_>> =
                    states.iter().zip(&leads).map(|(s, a)| (s.as_slice(), a.as_slice())).collect();
                assert_eq!(copied(&pairs), None, "{late} rows, noise {noise}");
            }
        }
    }
}
