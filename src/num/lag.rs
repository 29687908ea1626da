//! Lag of one signal behind another, in the position domain, to a fraction of a sample.
//!
//! The lag is the `L` for which the variance of `s(t + L) − a(t)` is smallest. An offset between the
//! two does not matter, and unlike a correlation of velocities it is not pulled towards zero by
//! quantisation. The variance is searched coarse to fine: all lags over means of some samples, then
//! downhill over means of half as many again and again until they are single samples, then
//! by a parabola through three lags measured over the same samples of `a`, so that the parabola is
//! not bent by samples entering and leaving at the ends.
//!
//! Source of the idea: the average squared difference function, G. Jacovitti and G. Scarano,
//! "Discrete time techniques for time delay estimation", IEEE Trans. Signal Processing 41(2),
//! 1993 (from memory). Proved here on signals of known delay.

use std::borrow::Cow;
use std::ops::Range;

use pulp::cast;

use super::wide::eight_fn;

/// A lag and how sharply it is determined, in samples.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lag {
    /// By how many samples `s` comes after `a`.
    pub samples: f64,
    /// Width of the minimum: the span of lags whose residual variance is within a tenth of the
    /// smallest one.
    pub width: f64,
    /// Minimum residual variance, in the square of the signal's unit.
    pub variance: f64,
}

/// Why no lag could be given.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NoLag {
    /// Fewer samples than the search needs.
    TooShort,
    /// The variance is smallest at the edge of the search.
    AtEdge,
    /// The variance does not depend on the lag: nothing moved.
    Flat,
}

/// How far and how coarsely to search, in samples.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Search {
    /// Largest lag looked at, either way.
    pub reach: usize,
    /// How often the samples are halved for the coarse pass, which looks at all lags; 0 does so
    /// at full resolution.
    pub halvings: u32,
    /// Distance of the three lags of the parabola.
    pub arm: usize,
}

/// Lag of `s` behind `a`, over the stretches of samples in `segments`.
///
/// # Errors
/// [`NoLag`] if there are too few samples, nothing moved, or the minimum variance is at the edge.
pub fn lag(s: &[f32], a: &[f32], segments: &[Range<usize>], search: Search) -> Result<Lag, NoLag> {
    let longest = segments.iter().map(ExactSizeIterator::len).max().unwrap_or(0);
    let reach = search.reach.min(longest / 4) as isize;
    if reach < 2 * search.arm as isize || reach < 2 {
        return Err(NoLag::TooShort);
    }
    // Short signals are not halved until nothing is left to compare.
    let halvings = search.halvings.min((longest / 32).max(1).ilog2());
    let mut levels = vec![Level { s: s.into(), a: a.into(), segments: segments.into() }];
    for _ in 0..halvings {
        let coarser = levels[levels.len() - 1].halved();
        levels.push(coarser);
    }
    let coarsest = &levels[halvings as usize];
    let mut best = coarsest.everywhere(reach >> halvings)?;
    let mut finer = best as f64;
    for level in (1..=halvings).rev() {
        if level < halvings {
            best = (2.0 * finer).round() as isize;
        }
        finer = levels[level as usize].downhill(best, reach >> level);
    }
    let best = if halvings > 0 { (2.0 * finer).round() as isize } else { best };
    refine(&levels[0], reach, best, search.arm.max(1) as isize)
}

/// Both signals, as they are or as means over blocks of samples.
struct Level<'a> {
    s: Cow<'a, [f32]>,
    a: Cow<'a, [f32]>,
    segments: Cow<'a, [Range<usize>]>,
}

impl Level<'_> {
    /// Means over pairs of samples.
    fn halved(&self) -> Level<'static> {
        let (mut s, mut a) = (Vec::new(), Vec::new());
        let mut segments = Vec::with_capacity(self.segments.len());
        for segment in self.segments.iter() {
            let first = s.len();
            pair_means(&self.s[segment.clone()], &mut s);
            pair_means(&self.a[segment.clone()], &mut a);
            segments.push(first..s.len());
        }
        Level { s: s.into(), a: a.into(), segments: segments.into() }
    }

    /// Residual variance at a lag; see [`residual_variance`].
    fn at(&self, lag: isize, ends: (isize, isize)) -> Option<f64> {
        residual_variance(&self.s, &self.a, &self.segments, lag, ends)
    }

    /// The best of all lags within reach, in blocks.
    fn everywhere(&self, reach: isize) -> Result<isize, NoLag> {
        let scored = (-reach..=reach).filter_map(|lag| self.at(lag, (0, 0)).map(|v| (lag, v)));
        let (mut min, mut max, mut best) = (f64::INFINITY, 0.0, 0);
        for (lag, variance) in scored {
            max = f64::max(max, variance);
            if variance < min {
                (min, best) = (variance, lag);
            }
        }
        if min.is_finite() && max > min * (1.0 + 1e-6) { Ok(best) } else { Err(NoLag::Flat) }
    }

    /// Walks to the nearest minimum, and guesses where between the lags it lies.
    fn downhill(&self, start: isize, reach: isize) -> f64 {
        let at = |lag: isize| {
            let within = lag.abs() <= reach;
            within.then(|| self.at(lag, (0, 0))).flatten().unwrap_or(f64::INFINITY)
        };
        let (mut here, mut value) = (start, at(start));
        let (mut left, mut right) = (at(here - 1), at(here + 1));
        while left < value || right < value {
            if left < right {
                (right, value, here) = (value, left, here - 1);
                left = at(here - 1);
            } else {
                (left, value, here) = (value, right, here + 1);
                right = at(here + 1);
            }
        }
        let curvature = left - 2.0 * value + right;
        let shift = if curvature > 0.0 { 0.5 * (left - right) / curvature } else { 0.0 };
        here as f64 + if shift.is_finite() { shift.clamp(-0.5, 0.5) } else { 0.0 }
    }
}

fn pair_means(samples: &[f32], out: &mut Vec<f32>) {
    out.extend(samples.as_chunks::<2>().0.iter().map(|[first, second]| 0.5 * (first + second)));
}

/// Where the parabola through three values at -1, 0 and 1 has its vertex; not finite for three on a
/// line.
pub fn vertex(left: f64, middle: f64, right: f64) -> f64 {
    0.5 * (left - right) / (left - 2.0 * middle + right)
}

/// The parabola through the minimum variance and its neighbours at a distance of `arm`.
fn refine(level: &Level<'_>, reach: isize, start: isize, arm: isize) -> Result<Lag, NoLag> {
    let mut best = start;
    let mut came_from = None;
    let (left, middle, right) = loop {
        if best.abs() + 1 >= reach {
            return Err(NoLag::AtEdge);
        }
        // The same samples of `a` for all three: leave out what the outer two lags cannot pair.
        let ends = ((arm - best).max(0), (best + arm).max(0));
        let at = |lag| level.at(lag, ends).ok_or(NoLag::TooShort);
        let (left, middle, right) = (at(best - arm)?, at(best)?, at(best + arm)?);
        let next = if left < middle && left < right {
            best - arm
        } else if right < middle {
            best + arm
        } else {
            break (left, middle, right);
        };
        // Each lag leaves out samples of its own, so of two each may think the other better.
        if came_from == Some(next) {
            break (left, middle, right);
        }
        (came_from, best) = (Some(best), next);
    };
    let curvature = 0.5 * (left - 2.0 * middle + right);
    if curvature <= 0.0 || curvature <= middle * 1e-9 {
        return Err(NoLag::Flat);
    }
    let slope = 0.5 * (right - left);
    let shift = vertex(left, middle, right).clamp(-1.0, 1.0);
    let variance = (middle - slope * slope / (4.0 * curvature)).max(0.0);
    Ok(Lag {
        samples: best as f64 + shift * arm as f64,
        width: 2.0 * (0.1 * variance / curvature).sqrt() * arm as f64,
        variance,
    })
}

/// Variance of `s[t + lag] − a[t]` over the segments, each cut by `ends` samples of `a` and by
/// what the lag leaves without a partner. `None` with fewer than eight pairs.
fn residual_variance(
    s: &[f32],
    a: &[f32],
    segments: &[Range<usize>],
    lag: isize,
    ends: (isize, isize),
) -> Option<f64> {
    let (mut pairs, mut sum, mut squares) = (0usize, 0.0f64, 0.0f64);
    let mut centre = None;
    for segment in segments {
        let start = segment.start as isize + ends.0.max(-lag).max(0);
        let end = segment.end as isize - ends.1.max(lag).max(0);
        if end <= start {
            continue;
        }
        let leader = &a[start as usize..end as usize];
        let follower = &s[(start + lag) as usize..(end + lag) as usize];
        // Any centre will do; one near the mean keeps the sums of squares small.
        let centre = *centre.get_or_insert_with(|| follower[0] - leader[0]);
        let (part, part_squares) = sums(follower, leader, centre);
        sum += part;
        squares += part_squares;
        pairs += leader.len();
    }
    if pairs < 8 {
        return None;
    }
    let n = pairs as f64;
    Some(((squares - sum * sum / n) / n).max(0.0))
}

/// Samples side by side, and to a block.
const LANES: usize = 8;
const BLOCK: usize = 32 * LANES;

eight_fn! {
    /// Sum and sum of squares of `x − y − centre`: eight lanes of `f32` within a block, `f64` over
    /// the blocks, which loses no digits on long episodes.
    fn sums<'a>(simd, x: &'a [f32], y: &'a [f32], centre: f32) -> (f64, f64) {
        let (mut total, mut total_squares) = (0.0f64, 0.0f64);
        let (zero, centres) = (simd.splat_f32s(0.0), simd.splat_f32s(centre));
        for (xs, ys) in x.chunks(BLOCK).zip(y.chunks(BLOCK)) {
            let (mut sum, mut squares) = (zero, zero);
            let (head_x, tail_x) = xs.as_chunks::<LANES>();
            let (head_y, tail_y) = ys.as_chunks::<LANES>();
            for (bx, by) in head_x.iter().zip(head_y) {
                let d = simd.sub_f32s(simd.sub_f32s(cast(*bx), cast(*by)), centres);
                sum = simd.add_f32s(sum, d);
                squares = simd.add_f32s(squares, simd.mul_f32s(d, d));
            }
            let (mut sum, mut squares): ([f32; LANES], [f32; LANES]) = (cast(sum), cast(squares));
            for (vx, vy) in tail_x.iter().zip(tail_y) {
                let d = vx - vy - centre;
                sum[0] += d;
                squares[0] += d * d;
            }
            total += f64::from(sum.iter().sum::<f32>());
            total_squares += f64::from(squares.iter().sum::<f32>());
        }
        (total, total_squares)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn wave(t: f64) -> f32 {
        use std::f64::consts::TAU;
        let part =
            |amplitude: f64, hertz: f64, phase: f64| amplitude * (TAU * hertz * t + phase).sin();
        (part(0.6, 0.37, 0.2) + part(0.25, 0.83, 1.1) + part(0.1, 1.57, 2.3)) as f32
    }

    fn pair(rate_hz: f64, samples: usize, delay_s: f64) -> (Vec<f32>, Vec<f32>) {
        let at = |delay: f64| (0..samples).map(|i| wave(i as f64 / rate_hz - delay)).collect();
        (at(delay_s), at(0.0))
    }

    fn whole(samples: usize) -> Vec<Range<usize>> {
        std::iter::once(0..samples).collect()
    }

    #[test]
    fn known_delays_come_out_at_every_rate() {
        for rate_hz in [25.0, 30.0, 50.0, 100.0, 200.0] {
            for delay_s in [-0.031, 0.0, 0.040, 0.047, 0.1234, 0.31] {
                let samples = (12.0 * rate_hz) as usize;
                let (s, a) = pair(rate_hz, samples, delay_s);
                let halvings = (rate_hz * 0.12).log2().max(0.0) as u32;
                let arm = (rate_hz * 0.01).round().max(1.0) as usize;
                let search = Search { reach: rate_hz as usize, halvings, arm };
                let got = lag(&s, &a, &whole(samples), search).map(|l| l.samples / rate_hz);
                let error_ms = got.map(|l| (l - delay_s).abs() * 1e3);
                assert!(error_ms.is_ok_and(|e| e < 0.3), "{rate_hz} Hz {delay_s} s: {got:?}");
            }
        }
    }

    #[test]
    fn an_offset_and_a_gap_do_not_matter() {
        let (mut s, a) = pair(50.0, 600, 0.047);
        for value in &mut s {
            *value += 2.5;
        }
        let search = Search { reach: 50, halvings: 1, arm: 1 };
        let got = lag(&s, &a, &[0..250, 300..600], search);
        assert!(got.is_ok_and(|l| (l.samples / 50.0 - 0.047).abs() < 1e-4), "{got:?}");
    }

    #[test]
    fn stillness_and_short_signals_give_no_lag() {
        let search = Search { reach: 30, halvings: 1, arm: 1 };
        assert_eq!(lag(&[1.0; 300], &[2.0; 300], &whole(300), search), Err(NoLag::Flat));
        assert_eq!(lag(&[1.0; 6], &[2.0; 6], &whole(6), search), Err(NoLag::TooShort));
    }

    /// Two lags may each look better from the other, by the samples that each leaves out.
    #[test]
    fn two_lags_that_outbid_each_other_end_the_search() {
        let mut state = 1u32;
        let mut noise = || {
            state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            (state >> 8) as f32 / (1 << 24) as f32 - 0.5
        };
        for samples in 40..140 {
            let a: Vec<f32> = (0..samples).map(|_| noise()).collect();
            let s: Vec<f32> = a.iter().map(|v| 0.3 * v + noise()).collect();
            for arm in 1..4 {
                let search = Search { reach: 30, halvings: 1, arm };
                let found = lag(&s, &a, &whole(samples), search);
                assert!(found.is_err() || found.is_ok_and(|l| l.samples.abs() <= 31.0));
            }
        }
    }

    #[test]
    fn noise_widens_the_minimum() {
        let (s, a) = pair(50.0, 600, 0.047);
        let rough: Vec<f32> =
            s.iter().enumerate().map(|(i, v)| v + if i % 2 == 0 { 0.05 } else { -0.05 }).collect();
        let search = Search { reach: 50, halvings: 1, arm: 1 };
        let widths = [&s, &rough].map(|x| lag(x, &a, &whole(600), search).map_or(9.0, |l| l.width));
        assert!(widths[0] < 0.1 && widths[1] > 0.5, "{widths:?}");
    }
}
