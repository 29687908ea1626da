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
        for (at, y) in values.iter().enumerate() {
            let (s, c) = (radians * (at as f64 - middle)).sin_cos();
            cc += c * c;
            ss += s * s;
            cs += c * s;
            yc += y * c;
            ys += y * s;
            yy += y * y;
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
    let place = |at: usize| (at as f64 - middle) / middle;
    // On evenly spaced samples about their middle these three are orthogonal.
    let mean_square = (0..values.len()).map(|at| place(at).powi(2)).sum::<f64>() / n;
    let terms = [|_: f64, _: f64| 1.0, |t, _| t, |t: f64, mean: f64| t * t - mean];
    for term in terms {
        let (mut both, mut square) = (0.0, 0.0);
        for (at, value) in values.iter().enumerate() {
            let term = term(place(at), mean_square);
            both += value * term;
            square += term * term;
        }
        let size = if square > 0.0 { both / square } else { 0.0 };
        for (at, value) in values.iter_mut().enumerate() {
            *value -= size * term(place(at), mean_square);
        }
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
