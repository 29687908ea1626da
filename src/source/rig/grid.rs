//! The grid of a sensor: the size of one count, as the stored values show it.

/// Steps looked at; more of them do not make the grid any plainer.
const STEPS: usize = 20_000;
/// Fewer steps than this show no grid.
const FEWEST: usize = 20;
/// Share of the steps that must be near a multiple of the count.
const SHARE: f64 = 0.9;
/// How near, in counts. Steps of values without a grid are this near one time in five.
const NEAR: f64 = 0.1;
/// Multiples looked at; beyond them the error of the count itself would add up.
const MULTIPLES: f64 = 64.0;

/// The smallest step of which at least nine in ten non-zero steps are near a whole multiple; 0 if
/// the values show no such grid. `values` are stretches of neighbouring frames of one joint.
pub(in crate::source) fn count<'a>(values: impl Iterator<Item = &'a [f32]>) -> f64 {
    let mut steps: Vec<f64> = Vec::new();
    let mut largest = 0f64;
    for stretch in values {
        for pair in stretch.windows(2) {
            let step = (f64::from(pair[1]) - f64::from(pair[0])).abs();
            largest = largest.max(f64::from(pair[1]).abs());
            if step > 0.0 && steps.len() < STEPS {
                steps.push(step);
            }
        }
    }
    // Two neighbouring values are each rounded to a float32: their difference is off by this.
    let noise = largest * f64::from(f32::EPSILON);
    steps.retain(|step| *step > 4.0 * noise);
    if steps.len() < FEWEST {
        return 0.0;
    }
    steps.sort_unstable_by(f64::total_cmp);
    // A few odd steps below the true count (filtered or interpolated rows) must not hide it.
    let ranks = [0.0, 0.001, 0.01, 0.03, 0.1];
    let found = ranks.iter().find_map(|rank| {
        let first = steps[(rank * steps.len() as f64) as usize];
        let count = refined(&steps, first);
        (count > 20.0 * noise && agrees(&steps, count)).then_some(count)
    });
    found.unwrap_or(0.0)
}

/// Improves a first guess by the steps that are few counts long, then by longer ones.
fn refined(steps: &[f64], guess: f64) -> f64 {
    let mut count = guess;
    for most in [1.5, 4.0, 16.0, MULTIPLES] {
        let (mut product, mut square) = (0.0, 0.0);
        for step in steps.iter().take_while(|step| **step < most * count) {
            let multiple = (step / count).round();
            if (step / count - multiple).abs() < NEAR {
                product += step * multiple;
                square += multiple * multiple;
            }
        }
        if square > 0.0 {
            count = product / square;
        }
    }
    count
}

fn agrees(steps: &[f64], count: f64) -> bool {
    let (mut near, mut all) = (0, 0);
    for step in steps.iter().take_while(|step| **step < MULTIPLES * count) {
        let multiple = step / count;
        all += 1;
        near += usize::from(multiple > 0.5 && (multiple - multiple.round()).abs() < NEAR);
    }
    all >= FEWEST && all * 2 >= steps.len() && near as f64 >= SHARE * all as f64
}

#[cfg(test)]
mod tests {
    use super::*;

    fn wave(frames: usize) -> impl Iterator<Item = f64> {
        (0..frames).map(|i| 0.8 * (i as f64 * 0.013).sin() + 0.1 * (i as f64 * 0.37).sin())
    }

    #[test]
    fn counts_of_a_twelve_bit_encoder_are_seen_in_radians() {
        let q = std::f64::consts::TAU / 4096.0;
        let values: Vec<f32> = wave(3000).map(|v| ((v / q).round() * q) as f32).collect();
        let seen = count([&values[..]].into_iter());
        assert!((seen / q - 1.0).abs() < 1e-3, "{seen} is not {q}");
    }

    #[test]
    fn values_without_a_grid_show_none() {
        let values: Vec<f32> = wave(3000).map(|v| v as f32).collect();
        assert_eq!(count([&values[..]].into_iter()), 0.0);
        assert_eq!(count([&[1.0f32; 100][..]].into_iter()), 0.0);
    }
}
