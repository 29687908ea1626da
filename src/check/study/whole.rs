//! Missing values: found quickly, bridged for the checks that need a whole signal.

use crate::model::Channels;

/// Whether all values are finite.
pub fn is_finite(values: &[f32]) -> bool {
    let (lanes, rest) = values.as_chunks::<16>();
    let mut sums = [0.0f32; 16];
    for chunk in lanes {
        for (sum, value) in sums.iter_mut().zip(chunk) {
            // Zero for a finite value, NaN for anything else.
            *sum += value * 0.0;
        }
    }
    sums.iter().all(|sum| *sum == 0.0) && rest.iter().all(|value| value.is_finite())
}

/// A copy in which missing values are bridged by straight lines and held at the ends.
pub fn bridged(channels: &Channels) -> Channels {
    let mut values = channels.values().to_vec();
    if channels.frames() > 0 {
        values.chunks_exact_mut(channels.frames()).for_each(bridge);
    }
    Channels::new(values, channels.frames(), channels.joints())
}

fn bridge(values: &mut [f32]) {
    let mut last: Option<usize> = None;
    for at in 0..values.len() {
        if !values[at].is_finite() {
            continue;
        }
        match last {
            None => {
                let value = values[at];
                values[..at].fill(value);
            }
            Some(from) => {
                let (start, span) = (values[from], (at - from) as f32);
                let rise = values[at] - start;
                for (k, value) in values[from + 1..at].iter_mut().enumerate() {
                    *value = start + rise * (k + 1) as f32 / span;
                }
            }
        }
        last = Some(at);
    }
    let held = last.map_or(0.0, |from| values[from]);
    values[last.map_or(0, |from| from + 1)..].fill(held);
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn holes_are_bridged_by_lines_and_held_at_the_ends() {
        let nan = f32::NAN;
        let mut values = [nan, 1.0, nan, nan, 4.0, f32::INFINITY];
        bridge(&mut values);
        assert_eq!(values, [1.0, 1.0, 2.0, 3.0, 4.0, 4.0]);
        let mut none = [nan, nan];
        bridge(&mut none);
        assert_eq!(none, [0.0, 0.0]);
    }

    #[test]
    fn one_missing_value_anywhere_is_seen() {
        for at in 0..40 {
            let mut values = [1.0f32; 40];
            assert!(is_finite(&values));
            values[at] = if at % 2 == 0 { f32::NAN } else { f32::NEG_INFINITY };
            assert!(!is_finite(&values), "at {at}");
        }
    }
}
