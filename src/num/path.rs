//! Shape of a motion: how jerky its speed is, how straight its path.
//!
//! Source of the jerk: Hogan & Sternad 2009, J Motor Behavior 41(6), 529-534 (dimensionless jerk),
//! in the logarithm and with the peak speed as its scale as Balasubramanian et al. 2015 (doi
//! 10.1186/s12984-015-0090-9) define it.

/// Log dimensionless jerk of a speed profile sampled every `step_s`: minus the logarithm of the
/// integral of the speed's squared second derivative, times duration cubed over squared peak
/// speed. Nearer to zero is smoother; the smoothest possible motion reads -5.3. `None` for fewer
/// than three samples or without motion.
pub fn log_dimensionless_jerk(speed: &[f64], step_s: f64) -> Option<f64> {
    let peak = speed.iter().fold(0.0f64, |m, v| m.max(v.abs()));
    if speed.len() < 3 || peak <= 0.0 || step_s.is_nan() || step_s <= 0.0 {
        return None;
    }
    let second = |w: &[f64]| (w[2] - 2.0 * w[1] + w[0]) / (step_s * step_s);
    let squares: f64 = speed.windows(3).map(|w| second(w).powi(2)).sum::<f64>() * step_s;
    let duration_s = speed.len() as f64 * step_s;
    let jerk = squares * duration_s.powi(3) / (peak * peak);
    (jerk > 0.0).then(|| -jerk.ln())
}

/// Straight distance between the ends of a path over its length; `None` without any length.
///
/// `points` holds `dimensions` coordinates of each point, point by point.
pub fn straightness(points: &[f64], dimensions: usize) -> Option<f64> {
    let distance =
        |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(a, b)| (b - a) * (b - a)).sum::<f64>().sqrt();
    let point = |i: usize| &points[i * dimensions..(i + 1) * dimensions];
    let count = points.len().checked_div(dimensions)?;
    let length: f64 = (1..count).map(|i| distance(point(i - 1), point(i))).sum();
    (length > 0.0).then(|| distance(point(0), point(count - 1)) / length)
}

/// `count` points evenly spaced along the length of a path: its shape, whatever the tempo.
///
/// `points` holds `dimensions` coordinates of each point, point by point, and so does the result.
/// A path without any length gives its first point throughout; no point, none.
pub fn evenly_along(points: &[f32], dimensions: usize, count: usize) -> Vec<f32> {
    let mut even = Vec::with_capacity(count * dimensions);
    let Some(given) = points.len().checked_div(dimensions).filter(|given| *given > 0) else {
        return even;
    };
    let point = |i: usize| &points[i * dimensions..(i + 1) * dimensions];
    let step = |i: usize| -> f64 {
        let pairs = point(i).iter().zip(point(i + 1));
        pairs.map(|(a, b)| f64::from(b - a).powi(2)).sum::<f64>().sqrt()
    };
    let steps: Vec<f64> = (0..given - 1).map(step).collect();
    let length: f64 = steps.iter().sum();
    let (mut at, mut before) = (0, 0.0);
    for k in 0..count {
        let want = length * k as f64 / (count.max(2) - 1) as f64;
        while at + 1 < steps.len() && before + steps[at] < want {
            before += steps[at];
            at += 1;
        }
        let weight = match steps.get(at) {
            Some(step) if *step > 0.0 => ((want - before) / step).clamp(0.0, 1.0) as f32,
            _ => 0.0,
        };
        let next = point((at + 1).min(given - 1));
        even.extend(point(at).iter().zip(next).map(|(a, b)| a + weight * (b - a)));
    }
    even
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn points_along_a_path_do_not_know_its_tempo() {
        // Three to the right, waiting twice, then four up: seven long.
        let path = [0.0, 0.0, 1.0, 0.0, 1.0, 0.0, 1.0, 0.0, 3.0, 0.0, 3.0, 4.0];
        let even = evenly_along(&path, 2, 8);
        let want = [0., 0., 1., 0., 2., 0., 3., 0., 3., 1., 3., 2., 3., 3., 3., 4.];
        assert!(even.iter().zip(want).all(|(a, b)| (a - b).abs() < 1e-6), "{even:?}");
        assert_eq!(evenly_along(&[2.0, 2.0, 2.0], 1, 2), [2.0, 2.0]);
        assert_eq!(evenly_along(&[5.0], 1, 3), [5.0; 3]);
        assert!(evenly_along(&[], 3, 4).is_empty() && evenly_along(&[], 0, 4).is_empty());
    }

    #[test]
    fn a_line_is_straight_and_a_way_back_is_not() {
        assert_eq!(straightness(&[0.0, 0.0, 3.0, 4.0, 9.0, 12.0], 2), Some(1.0));
        assert_eq!(straightness(&[0.0, 1.0, 0.0], 1), Some(0.0));
        assert_eq!(straightness(&[2.0, 2.0], 1), None);
        assert_eq!(straightness(&[], 0), None);
    }

    #[test]
    fn tempo_does_not_change_the_jerk() {
        let bell = |n: usize| -> Vec<f64> {
            let at = |i: usize| i as f64 / (n - 1) as f64;
            (0..n).map(|i| 30.0 * at(i).powi(2) * (1.0 - at(i)).powi(2)).collect()
        };
        let quick = log_dimensionless_jerk(&bell(200), 0.005);
        let slow = log_dimensionless_jerk(&bell(200), 0.05);
        assert!(quick.zip(slow).is_some_and(|(a, b)| (a - b).abs() < 1e-9));
        assert_eq!(log_dimensionless_jerk(&[0.0; 9], 0.1), None);
    }
}
