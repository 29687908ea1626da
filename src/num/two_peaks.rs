//! Do values lie about two places rather than one?

use super::change_point::two_levels;
use super::robust::median;

/// Share of its squares that a uniform sample keeps when it is cut in two...
const UNIFORM: f64 = 0.25;
/// ... minus this over the root of its size: one sample in two hundred of 20 to 1,000 keeps less (in
/// simulation; those of a normal, a Student's t, an exponential and a log-normal keep more).
const SIZE_TERM: f64 = 0.7;
/// The valley between both, their middle third, must hold fewer values than as wide a place about the
/// lesser one by so many standard errors.
const VALLEY: f64 = 2.58;

/// Two groups of values.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TwoPeaks {
    /// Medians of both, the lesser first.
    pub medians: (f64, f64),
    /// How many values belong to the upper one.
    pub upper: usize,
}

/// The two groups that values fall into, with at least `side` in each; `None` where one peak, however flat,
/// skewed or heavy-tailed, would do: the cut that leaves the least squares must leave less than that
/// of a uniform sample ever does, the flattest of all peaks, and there must be a valley between.
pub fn two_peaks(values: &[f64], side: usize) -> Option<TwoPeaks> {
    let mut sorted = values.to_vec();
    sorted.sort_unstable_by(f64::total_cmp);
    let cut = two_levels(&sorted, side)?;
    let left = UNIFORM - SIZE_TERM / (sorted.len() as f64).sqrt();
    if cut.squares.1 >= left * cut.squares.0 {
        return None;
    }
    let (below, above) = sorted.split_at(cut.at);
    let (low, high) = (median(below), median(above));
    let third = (high - low) / 3.0;
    let within = |from: f64, to: f64| sorted.iter().filter(|v| (from..to).contains(*v)).count();
    let about = |place: f64| within(place - third / 2.0, place + third / 2.0);
    let valley = within(low + third, high - third) as f64;
    let lesser = about(low).min(about(high)) as f64;
    let deep = lesser - valley >= VALLEY * (lesser + valley).sqrt();
    deep.then_some(TwoPeaks { medians: (low, high), upper: above.len() })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::num::interval::of_share;
    use rand::{Rng, SeedableRng};
    use rand_chacha::ChaCha8Rng;
    use rand_distr::{Distribution, Exp1, StandardNormal, StudentT};

    #[test]
    fn one_peak_of_any_shape_is_one() {
        let mut random = ChaCha8Rng::seed_from_u64(7);
        let Ok(heavy) = StudentT::new(3.0) else { panic!("three is positive") };
        let mut alarms = [0; 5];
        for turn in 0..2_000 {
            let n = [20, 30, 50, 100, 400][turn % 5];
            let mut of = |shape: usize| -> Vec<f64> {
                let mut one = || match shape {
                    0 => random.random_range(0.0..1.0),
                    1 => StandardNormal.sample(&mut random),
                    2 => heavy.sample(&mut random),
                    3 => Exp1.sample(&mut random),
                    // A sharp peak with a flat shoulder to one side.
                    _ if random.random_bool(0.7) => 0.05 * random.random_range(-1.0..1.0),
                    _ => random.random_range(0.0..1.0),
                };
                (0..n).map(|_| one()).collect()
            };
            for (shape, alarms) in alarms.iter_mut().enumerate() {
                *alarms += usize::from(two_peaks(&of(shape), 5.max(3 * n / 20)).is_some());
            }
        }
        assert!(alarms.iter().all(|count| *count <= 20), "{alarms:?} of 2,000 each");
    }

    /// Of so many samples with two places 6.5 standard deviations apart, how many are found so: `n` values, of
    /// them `lesser` about the lesser place.
    fn found_in(samples: u64, n: usize, lesser: usize) -> u64 {
        let mut random = ChaCha8Rng::seed_from_u64((1_000 * n + lesser) as u64);
        let mut found = 0;
        for _ in 0..samples {
            let value = |i: usize| -> f64 {
                let noise: f64 = StandardNormal.sample(&mut random);
                noise + if i < lesser { 6.5 } else { 0.0 }
            };
            let values: Vec<f64> = (0..n).map(value).collect();
            if let Some(peaks) = two_peaks(&values, 5.max(3 * n / 20)) {
                assert!(peaks.upper.abs_diff(lesser) <= 2, "{peaks:?} for {lesser}");
                found += 1;
            }
        }
        found
    }

    /// Where 20 values or more lie about the lesser place: 95 %, which 96.3 % of 4,000 samples of the
    /// hardest case bear out.
    #[test]
    fn two_places_of_twenty_values_are_two() {
        for (n, lesser) in [(40, 20), (60, 24), (60, 30), (100, 30), (100, 40), (400, 120)] {
            let found = found_in(2_000, n, lesser);
            assert!(found >= 1_900, "{found} of 2,000: {lesser} of {n}");
        }
    }

    /// A valley takes seven values more about the lesser place, its middle third, where 72 % of its
    /// own lie: fewer values are found less often. So often: the interval of what is found holds it.
    #[test]
    fn fewer_values_are_found_as_often_as_the_manual_says() {
        for (n, lesser, often) in [(30, 9, 0.35), (40, 12, 0.60), (30, 15, 0.80), (60, 18, 0.91)] {
            let found = found_in(400, n, lesser);
            let Some(share) = of_share(found, 400, 0.998) else { panic!("400 are some") };
            assert!(share.low <= often && often <= share.high, "{found} of 400: {lesser} of {n}");
        }
    }
}
