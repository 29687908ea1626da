//! What is usual among episodes, and from where on one is odd in a single measurement.

use statrs::distribution::{ContinuousCDF, StudentsT};

use super::paths::some_of;
use crate::num::quantile::quantile_sorted;
use crate::num::robust::{mad_sigma, median};
use crate::num::scale::qn;

/// Fewer episodes have no usual way.
pub(super) const ENOUGH: usize = 10;
/// Chance that a sound session has any odd episode by one check, with tails as below.
const FALSE_ALARM: f64 = 0.01;
/// Tails of what has no end, as the logarithm of a length: Student's t with so many degrees of
/// freedom.
pub(super) const ENDLESS: f64 = 5.0;
/// Tails of what has ends, as a share has.
pub(super) const BOUNDED: f64 = 8.0;
/// A reading below this is not told in words: no limit that makes sense is so low, and words for each
/// of millions of ordinary readings would cost more than the readings.
pub(super) const TOLD: f64 = 0.25;
/// Few episodes know their scale badly: the cut-off is wider by this over their number.
const FEW: f64 = 10.0;
/// Values that tell the scale: its standard error is below a hundredth.
const MOST: usize = 10_000;
/// Sigmas of a normal between its 15th and 85th percentile.
const OUTER_SIGMAS: f64 = 2.0729;

/// The usual value of a measurement, and how far off it is odd.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Usual {
    /// Median.
    pub centre: f64,
    /// From this far off the median on, a value is odd.
    pub far: f64,
}

impl Usual {
    /// What is usual among these values, of which `looks` are looked at in all. `least` is the least
    /// deviation from episode to episode that anybody would mind; `tails` are theirs. `None` for too
    /// few.
    pub fn of(values: &[f64], least: f64, looks: usize, tails: f64) -> Option<Self> {
        if values.len() < ENOUGH {
            return None;
        }
        // Of many, some tell the scale as well.
        let some = some_of(values.len(), MOST).into_iter().map(|at| values[at]);
        let mut sorted: Vec<f64> = some.collect();
        sorted.sort_unstable_by(f64::total_cmp);
        let at = |p: f64| quantile_sorted(&sorted, p);
        // Ties and two groups make some of these too small: the largest.
        let outer = (at(0.85) - at(0.15)) / OUTER_SIGMAS;
        let scale = mad_sigma(&sorted).max(qn(&sorted)).max(outer).max(least);
        let chance = FALSE_ALARM / (2.0 * looks.max(values.len()) as f64);
        let tails = StudentsT::new(0.0, 1.0, tails).map_or(f64::NAN, |t| -t.inverse_cdf(chance));
        let far = scale * tails * (1.0 + FEW / values.len() as f64);
        far.is_finite().then_some(Self { centre: median(values), far })
    }

    /// How far a value is above the usual, as a multiple of what is odd; below is negative.
    pub fn above(&self, value: f64) -> f64 {
        (value - self.centre) / self.far
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use rand::SeedableRng;
    use rand_chacha::ChaCha8Rng;
    use rand_distr::{Distribution, Exp1, StandardNormal, StudentT};

    const SESSIONS: usize = 2_000;

    /// Sound sessions of 10 to 500 episodes with an odd value, by shape of their values.
    fn alarms() -> [usize; 6] {
        let mut random = ChaCha8Rng::seed_from_u64(3);
        let Ok(heavy) = StudentT::new(5.0) else { panic!("five is positive") };
        let mut alarms = [0; 6];
        let tails = [BOUNDED, ENDLESS, ENDLESS, BOUNDED, BOUNDED, BOUNDED];
        for turn in 0..SESSIONS {
            let n = [10, 14, 20, 50, 120, 500][turn % 6];
            for (shape, alarms) in alarms.iter_mut().enumerate() {
                let mut one = |at: usize| -> f64 {
                    let normal: f64 = StandardNormal.sample(&mut random);
                    match shape {
                        0 => normal,
                        1 => heavy.sample(&mut random),
                        2 => Exp1.sample(&mut random),
                        // Shares of chatter, log-normal, on the arcsine scale; and straightness.
                        3 => (0.01 * (0.8 * normal).exp()).min(1.0).sqrt().asin(),
                        4 => 1.0 - (0.2 * (0.4 * normal).exp()).min(1.0),
                        // Two ways of doing it, one in five.
                        _ => normal + if at.is_multiple_of(5) { 6.0 } else { 0.0 },
                    }
                };
                let values: Vec<f64> = (0..n).map(&mut one).collect();
                let Some(usual) = Usual::of(&values, 0.0, n, tails[shape]) else {
                    panic!("ten are enough")
                };
                *alarms += usize::from(values.iter().any(|v| usual.above(*v).abs() > 1.0));
            }
        }
        alarms
    }

    #[test]
    fn one_sound_session_in_fifty_at_most_has_an_odd_one() {
        let alarms = alarms();
        assert!(alarms.iter().all(|count| 50 * count <= SESSIONS), "{alarms:?} of {SESSIONS}");
    }

    #[test]
    fn what_is_far_off_is_odd_whatever_the_number() {
        for n in [10, 30, 300] {
            let values: Vec<f64> = (0..n).map(|i| f64::from(i % 10) / 10.0).collect();
            let Some(usual) = Usual::of(&values, 0.0, 5 * values.len(), ENDLESS) else {
                panic!("enough")
            };
            assert!(usual.above(12.0) > 1.0, "{n}: {usual:?}");
            assert!((-0.5..0.5).contains(&usual.above(2.0)), "{n}: {usual:?}");
        }
        assert_eq!(Usual::of(&[1.0; 9], 0.0, 9, ENDLESS), None);
        // All the same: the least deviation that matters decides.
        let Some(same) = Usual::of(&[1.0; 20], 0.05, 20, ENDLESS) else { panic!("enough") };
        assert!(same.above(1.3) < 1.0 && same.above(2.5) > 1.0, "{same:?}");
    }
}
