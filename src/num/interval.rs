//! Intervals without an assumption on the distribution: of a median, of a share.

use statrs::distribution::{Beta, Binomial, ContinuousCDF, DiscreteCDF};

/// An interval, and how often one made in this way holds the truth.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Interval {
    /// Lower end.
    pub low: f64,
    /// Upper end.
    pub high: f64,
    /// Share of such intervals that hold the truth, at least.
    pub confidence: f64,
}

/// An interval of the median, from its order statistics: the d-th from below to the d-th from
/// above, with the largest d that covers at least `confidence`, by the binomial with one half.
///
/// Fewer than six values cannot cover 95 %: then minimum to maximum, with what that covers. None
/// for fewer than two. Conover 1999, Practical Nonparametric Statistics, 3.2 (from memory).
pub fn of_median(sorted: &[f64], confidence: f64) -> Option<Interval> {
    let count = sorted.len();
    if count < 2 {
        return None;
    }
    let binomial = Binomial::new(0.5, count as u64).ok()?;
    let covered = |depth: usize| 1.0 - 2.0 * binomial.cdf(depth as u64 - 1);
    // Near to the answer by the normal approximation, from the safe side.
    let near = 0.5 * count as f64 - 0.5 * 2.6 * (count as f64).sqrt();
    let mut depth = (near.max(1.0) as usize).max(1);
    while depth > 1 && covered(depth) < confidence {
        depth -= 1;
    }
    while 2 * (depth + 1) <= count && covered(depth + 1) >= confidence {
        depth += 1;
    }
    let (low, high) = (sorted[depth - 1], sorted[count - depth]);
    Some(Interval { low, high, confidence: covered(depth) })
}

/// The exact interval of a share, `some` of `all`: Clopper & Pearson 1934, Biometrika 26, 404-413.
pub fn of_share(some: u64, all: u64, confidence: f64) -> Option<Interval> {
    if all == 0 || some > all {
        return None;
    }
    let tail = 0.5 * (1.0 - confidence);
    let quantile = |a: u64, b: u64, p: f64| {
        Beta::new(a as f64, b as f64).map_or(f64::NAN, |beta| beta.inverse_cdf(p))
    };
    let low = if some == 0 { 0.0 } else { quantile(some, all - some + 1, tail) };
    let high = if some == all { 1.0 } else { quantile(some + 1, all - some, 1.0 - tail) };
    Some(Interval { low, high, confidence })
}

#[cfg(test)]
mod tests {
    use super::*;
    use rand::{Rng, SeedableRng};

    fn ranks(count: usize) -> Option<(f64, f64, f64)> {
        let sorted: Vec<f64> = (1..=count).map(|rank| rank as f64).collect();
        of_median(&sorted, 0.95).map(|i| (i.low, i.high, i.confidence))
    }

    #[test]
    fn a_median_lies_between_the_ranks_of_the_table() {
        // Campbell & Gardner 1988, BMJ 296, 1454-1456, their table of ranks (from memory); the
        // coverages are sums of binomials over powers of two.
        for (count, low, high, covered) in [
            (6, 1.0, 6.0, 1.0 - 2.0 / 64.0),
            (8, 1.0, 8.0, 1.0 - 2.0 / 256.0),
            (9, 2.0, 8.0, 1.0 - 20.0 / 512.0),
            (10, 2.0, 9.0, 1.0 - 22.0 / 1024.0),
            (15, 4.0, 12.0, 1.0 - 2.0 * 576.0 / 32_768.0),
            (20, 6.0, 15.0, 1.0 - 2.0 * 21_700.0 / 1_048_576.0),
            (50, 18.0, 33.0, 0.9672),
            (100, 40.0, 61.0, 0.9648),
        ] {
            let Some((l, h, c)) = ranks(count) else { panic!("{count}") };
            assert_eq!((l, h), (low, high), "{count}");
            assert!((c - covered).abs() < 1e-4, "{count}: {c} for {covered}");
        }
        let large = ranks(1_000_000).unwrap_or_default();
        assert!((large.0 - (500_000.0 - 980.0)).abs() < 2.0 && large.2 >= 0.95, "{large:?}");
    }

    #[test]
    fn few_values_say_what_they_cover() {
        for (count, covered) in [(5, 0.9375), (2, 0.5)] {
            let (low, high, c) = ranks(count).unwrap_or_default();
            assert_eq!((low, high), (1.0, count as f64));
            assert!((c - covered).abs() < 1e-12);
        }
        assert_eq!((ranks(1), ranks(0)), (None, None));
    }

    #[test]
    fn the_median_is_held_as_often_as_promised_whatever_the_distribution() {
        let mut random = rand_chacha::ChaCha8Rng::seed_from_u64(5);
        for count in [6, 11, 24, 50] {
            let mut held = 0;
            for _ in 0..4000 {
                // Strongly skewed; its median is e to the zero.
                let mut drawn: Vec<f64> = (0..count)
                    .map(|_| (1.0 / random.random_range(1e-9..1.0f64) - 1.0f64).powi(3))
                    .collect();
                drawn.sort_by(f64::total_cmp);
                let held_it = |i: Interval| i.low <= 1.0 && 1.0 <= i.high;
                held += usize::from(of_median(&drawn, 0.95).is_some_and(held_it));
            }
            assert!(held >= 3760, "{count}: {held} of 4000");
        }
    }

    #[test]
    fn shares_are_those_of_the_literature() {
        // Newcombe 1998, Statistics in Medicine 17, 857-872, table I, method 5 (from memory).
        for (some, all, low, high) in [
            (81, 263, 0.2527, 0.3676),
            (15, 148, 0.0578, 0.1617),
            (0, 20, 0.0, 0.1684),
            (1, 29, 0.0009, 0.1776),
        ] {
            let Some(share) = of_share(some, all, 0.95) else { panic!("{some} of {all}") };
            let off = (share.low - low).abs().max((share.high - high).abs());
            assert!(off < 6e-5, "{some} of {all}: {share:?}");
        }
        // Zero of n has the closed form 1 - (1/40)^(1/n), and all of n mirrors it.
        let (none, all) = (of_share(0, 12, 0.95), of_share(12, 12, 0.95));
        let upper = 1.0 - 0.025f64.powf(1.0 / 12.0);
        assert!(none.is_some_and(|i| i.low == 0.0 && (i.high - upper).abs() < 1e-9));
        assert!(all.is_some_and(|i| i.high == 1.0 && (i.low - (1.0 - upper)).abs() < 1e-9));
        assert_eq!(of_share(0, 0, 0.95), None);
    }
}
