//! The few estimators that the survey needs.

use crate::num::schedule::schedule;

/// The median; none of an empty set. Reorders the values.
pub(in crate::source) fn median(values: &mut [f64]) -> Option<f64> {
    if values.is_empty() {
        return None;
    }
    let middle = values.len() / 2;
    let odd = values.len() % 2 == 1;
    let (below, upper, _) = values.select_nth_unstable_by(middle, f64::total_cmp);
    let upper = *upper;
    if odd {
        return Some(upper);
    }
    let lower = below.iter().copied().max_by(f64::total_cmp).unwrap_or(upper);
    Some(f64::midpoint(lower, upper))
}

/// The median over episodes of the period of their stamps, in the stamps' unit.
pub(in crate::source) fn typical_step<'a>(
    episodes: impl Iterator<Item = &'a [f64]>,
) -> Option<f64> {
    let period = |time: &[f64]| schedule(time).map(|found| found.period_s);
    median(&mut episodes.filter_map(period).collect::<Vec<_>>())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn medians_of_even_and_odd_sets() {
        assert_eq!(median(&mut [3.0, 1.0, 2.0]), Some(2.0));
        assert_eq!(median(&mut [4.0, 1.0, 2.0, 3.0]), Some(2.5));
        assert_eq!(median(&mut []), None);
        let stamps = [0.0, 0.1, 0.2, f64::NAN, 0.4, 0.3];
        assert!(typical_step([&stamps[..]].into_iter()).is_some_and(|s| (s - 0.1).abs() < 1e-12));
    }
}
