//! Do values lie about two places rather than one?

use super::change_point::two_levels;
use super::robust::median;

/// Share of its squares that a uniform sample keeps when it is cut in two...
const UNIFORM: f64 = 0.25;
/// ... less this over the root of its size: one sample in two hundred of 20 to 1,000 keeps less (in
/// simulation; those of a normal, a Student's t, an exponential and a log-normal keep more).
const BY_CHANCE: f64 = 0.7;
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

/// The two groups that values fall into, with `least` to each; `None` where one peak, however flat,
/// skewed or heavy-tailed, would do: the cut that leaves the least squares must leave less than that
/// of a uniform sample ever does, the flattest of all peaks, and there must be a valley between.
pub fn two_peaks(values: &[f64], least: usize) -> Option<TwoPeaks> {
    let mut sorted = values.to_vec();
    sorted.sort_unstable_by(f64::total_cmp);
    let cut = two_levels(&sorted, least)?;
    let left = UNIFORM - BY_CHANCE / (sorted.len() as f64).sqrt();
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

    #[test]
    fn two_places_six_deviations_apart_are_two() {
        let mut random = ChaCha8Rng::seed_from_u64(8);
        let mut found = 0;
        for turn in 0..400 {
            let n = [40, 60, 100, 400][turn % 4];
            let upper = n * [5, 3, 4][turn % 3] / 10;
            let value = |i: usize| -> f64 {
                let noise: f64 = StandardNormal.sample(&mut random);
                noise + if i < upper { 6.5 } else { 0.0 }
            };
            let values: Vec<f64> = (0..n).map(value).collect();
            if let Some(peaks) = two_peaks(&values, 5.max(3 * n / 20)) {
                assert!(peaks.upper.abs_diff(upper) <= 2, "{peaks:?} for {upper}");
                found += 1;
            }
        }
        // 378: of 40 values 12 lie about the lesser place, hardly enough for a valley.
        assert!(found >= 370, "{found} of 400");
    }
}
