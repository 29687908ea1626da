//! A sine in a short signal: its amplitude, and how much of the signal it is.
//!
//! Least squares on evenly spaced samples, which needs no whole number of cycles.

/// A sine fitted to a signal.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Sine {
    /// Amplitude, in the signal's unit: half of peak to peak.
    pub amplitude: f64,
    /// Share of the signal's energy that the sine explains, 0 to 1.
    pub explained: f64,
}

impl Sine {
    /// Fits a sine that turns by so many radians from sample to sample. The signal has no trend; three
    /// swings that were levelled lose up to a tenth of their amplitude.
    pub fn of(values: &[f64], radians: f64) -> Self {
        let middle = (values.len() as f64 - 1.0) / 2.0;
        let [mut cc, mut ss, mut cs, mut yc, mut ys, mut yy] = [0.0; 6];
        // Turned on from sample to sample: a sine and a cosine of each would take five times as long.
        let (mut s, mut c) = (-radians * middle).sin_cos();
        let (turn_s, turn_c) = radians.sin_cos();
        for y in values {
            cc += c * c;
            ss += s * s;
            cs += c * s;
            yc += y * c;
            ys += y * s;
            yy += y * y;
            (s, c) = (s * turn_c + c * turn_s, c * turn_c - s * turn_s);
        }
        let square = cc * ss - cs * cs;
        if square <= f64::EPSILON * cc * ss || yy <= 0.0 {
            return Self::default();
        }
        let (a, b) = ((yc * ss - ys * cs) / square, (ys * cc - yc * cs) / square);
        Self { amplitude: a.hypot(b), explained: (a * yc + b * ys) / yy }
    }
}

/// Takes the parabola out that fits best.
pub fn level(values: &mut [f64]) {
    let n = values.len() as f64;
    let middle = (n - 1.0) / 2.0;
    if middle <= 0.0 {
        return values.fill(0.0);
    }
    // On evenly spaced samples about their middle 1, t and t^2 less its mean are orthogonal; t goes from
    // -1 to 1, and the sums over its powers are known.
    let mean_square = (n + 1.0) / (3.0 * (n - 1.0));
    let fourth = mean_square * (3.0 * n * n - 7.0) / (5.0 * (n - 1.0) * (n - 1.0));
    let place = |at: usize| (at as f64 - middle) / middle;
    let [mut plain, mut slope, mut bend] = [0.0; 3];
    for (at, value) in values.iter().enumerate() {
        let t = place(at);
        plain += value;
        slope += value * t;
        bend += value * (t * t - mean_square);
    }
    let spread = fourth - mean_square * mean_square;
    let per = |sum: f64, square: f64| if square > 1e-12 { sum / (n * square) } else { 0.0 };
    let (plain, slope, bend) = (per(plain, 1.0), per(slope, mean_square), per(bend, spread));
    for (at, value) in values.iter_mut().enumerate() {
        let t = place(at);
        *value -= plain + slope * t + bend * (t * t - mean_square);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::TAU;

    #[test]
    fn a_sine_on_a_parabola_is_read_with_its_amplitude() {
        for cycles in [3.0, 3.4, 4.5, 7.1] {
            for phase in [0.0, 0.7, 2.1] {
                let n = 40;
                let turn = TAU * cycles / f64::from(n);
                let wave = |at: f64| 1.5 * (turn * at + phase).sin();
                let mut values: Vec<f64> = (0..n)
                    .map(f64::from)
                    .map(|at| wave(at) + 3.0 + 0.2 * at - 0.004 * at * at)
                    .collect();
                level(&mut values);
                let sine = Sine::of(&values, turn);
                let off = (sine.amplitude / 1.5 - 1.0).abs();
                assert!(off < 0.11 && sine.explained > 0.88, "{cycles} {phase}: {sine:?}");
                assert!(Sine::of(&values, 2.0 * turn).explained < 0.05, "{cycles} {phase}");
            }
        }
    }

    #[test]
    fn nothing_is_no_sine() {
        assert_eq!(Sine::of(&[0.0; 20], 0.7), Sine::default());
        assert_eq!(Sine::of(&[], 0.7), Sine::default());
        level(&mut []);
        let mut one = [4.0];
        level(&mut one);
        assert_eq!(one, [0.0]);
    }
}
