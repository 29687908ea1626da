//! The median of a measurement over episodes, and how well it is known.

use crate::num::interval::{Interval, of_median};
use crate::num::quantile::median_in_place;

/// The usual confidence of an interval.
const CONFIDENCE: f64 = 0.95;

/// What a number of episodes say together.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Evidence {
    /// The median, or its distance from the neutral value.
    pub value: f64,
    /// The same of its interval.
    pub interval: Option<Interval>,
    /// Number of episodes.
    pub read: u64,
}

impl Evidence {
    /// The value alone, which takes no sorting.
    pub fn value_of(values: &mut [f64], neutral: Option<f64>) -> f64 {
        let middle = tidy(median_in_place(values));
        tidy(neutral.map_or(middle, |neutral| (middle - neutral).abs()))
    }

    /// The evidence of readings out of the ledger; sizes about the neutral value, if there is one.
    pub fn of(mut values: Vec<f64>, neutral: Option<f64>) -> Self {
        values.sort_by(f64::total_cmp);
        let count = values.len();
        let middle = match count {
            0 => f64::NAN,
            _ => 0.5 * (values[(count - 1) / 2] + values[count / 2]),
        };
        let plain = |i: Interval| {
            let (low, high, confidence) = (tidy(i.low), tidy(i.high), tidy(i.confidence));
            Interval { low, high, confidence }
        };
        // Before they are counted from the neutral value, and after: 1.1 minus 1 is 0.1.
        let (middle, interval) = (tidy(middle), of_median(&values, CONFIDENCE).map(plain));
        let (value, interval) = match neutral {
            None => (middle, interval),
            Some(neutral) => {
                let size = |i: Interval| {
                    let (low, high) = (i.low - neutral, i.high - neutral);
                    let far = low.abs().max(high.abs());
                    let near =
                        if low < 0.0 && high > 0.0 { 0.0 } else { low.abs().min(high.abs()) };
                    Interval { low: near, high: far, ..i }
                };
                ((middle - neutral).abs(), interval.map(size))
            }
        };
        Self { value: tidy(value), interval: interval.map(plain), read: count as u64 }
    }
}

/// As few digits as the ledger's single precision is distinguished from its neighbours by: 0.0733, not
/// 0.07330000400543213. It rounds to the same single, so that what lay at its limit stays there.
fn tidy(value: f64) -> f64 {
    (value as f32).to_string().parse().unwrap_or(value)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn single_precision_is_read_back_as_it_was_written() {
        let evidence = Evidence::of(vec![f64::from(0.0733f32), f64::from(0.1f32)], None);
        let expected = Interval { low: 0.0733, high: 0.1, confidence: 0.5 };
        assert_eq!(evidence.interval, Some(expected));
        assert!((evidence.value - 0.08665).abs() < 1e-9);
    }

    #[test]
    fn what_scatters_about_the_neutral_value_cancels() {
        let signed = |offset: f64| (0..9).map(|n| offset + f64::from(n - 4)).collect();
        let none = Evidence::of(signed(0.0), Some(0.0));
        assert_eq!((none.value, none.interval.map(|i| (i.low, i.high))), (0.0, Some((0.0, 3.0))));
        let below = Evidence::of(signed(-5.0), Some(0.0));
        assert_eq!((below.value, below.interval.map(|i| (i.low, i.high))), (5.0, Some((2.0, 8.0))));
        let about_one = Evidence::of(vec![0.9, 0.9, 0.8], Some(1.0));
        assert_eq!(about_one.value, 0.1);
    }
}
