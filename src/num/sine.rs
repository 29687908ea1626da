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

/// A sine and a cosine over so many samples, which turn by so many radians from one to the next: laid
/// out once, and fitted to many signals.
#[derive(Debug, Clone)]
pub struct Wave {
    turns: Vec<(f64, f64)>,
    cc: f64,
    ss: f64,
    cs: f64,
}

impl Wave {
    /// Lays out the wave.
    pub fn of(samples: usize, radians: f64) -> Self {
        let middle = (samples as f64 - 1.0) / 2.0;
        // Turned on from sample to sample: a sine and a cosine of each would take five times as long.
        let (mut s, mut c) = (-radians * middle).sin_cos();
        let (turn_s, turn_c) = radians.sin_cos();
        let mut wave = Self { turns: Vec::with_capacity(samples), cc: 0.0, ss: 0.0, cs: 0.0 };
        for _ in 0..samples {
            wave.cc += c * c;
            wave.ss += s * s;
            wave.cs += c * s;
            wave.turns.push((s, c));
            (s, c) = (s * turn_c + c * turn_s, c * turn_c - s * turn_s);
        }
        wave
    }

    /// Fits it to a signal of as many samples. The signal has no trend; three swings that were levelled
    /// lose up to a tenth of their amplitude.
    pub fn fit(&self, values: &[f64]) -> Sine {
        let Self { cc, ss, cs, .. } = *self;
        let [mut yc, mut ys, mut yy] = [0.0; 3];
        for (y, (s, c)) in values.iter().zip(&self.turns) {
            yc += y * c;
            ys += y * s;
            yy += y * y;
        }
        let square = cc * ss - cs * cs;
        if square <= f64::EPSILON * cc * ss || yy <= 0.0 {
            return Sine::default();
        }
        let (a, b) = ((yc * ss - ys * cs) / square, (ys * cc - yc * cs) / square);
        Sine { amplitude: a.hypot(b), explained: (a * yc + b * ys) / yy }
    }
}

/// Parabolas over so many samples.
#[derive(Debug, Clone)]
pub struct Level {
    /// On evenly spaced samples about their middle 1, t and t^2 less its mean are orthogonal; t goes
    /// from -1 to 1, and the sums over its powers are known. Here are t and t^2 less its mean.
    places: Vec<(f64, f64)>,
    mean_square: f64,
    spread: f64,
}

impl Level {
    /// For signals of so many samples.
    pub fn of(samples: usize) -> Self {
        let n = samples as f64;
        let middle = (n - 1.0) / 2.0;
        let mean_square = (n + 1.0) / (3.0 * (n - 1.0));
        let fourth = mean_square * (3.0 * n * n - 7.0) / (5.0 * (n - 1.0) * (n - 1.0));
        let place = |at: usize| (at as f64 - middle) / middle;
        let bend = |t: f64| (t, t * t - mean_square);
        Self {
            places: (0..samples).map(|at| bend(place(at))).collect(),
            mean_square,
            spread: fourth - mean_square * mean_square,
        }
    }

    /// Takes the parabola out that fits best.
    pub fn take_out(&self, values: &mut [f64]) {
        if values.len() < 2 {
            return values.fill(0.0);
        }
        let n = values.len() as f64;
        let [mut plain, mut slope, mut bend] = [0.0; 3];
        for (value, (t, u)) in values.iter().zip(&self.places) {
            plain += value;
            slope += value * t;
            bend += value * u;
        }
        let per = |sum: f64, square: f64| if square > 1e-12 { sum / (n * square) } else { 0.0 };
        let (plain, slope, bend) =
            (per(plain, 1.0), per(slope, self.mean_square), per(bend, self.spread));
        for (value, (t, u)) in values.iter_mut().zip(&self.places) {
            *value -= plain + slope * t + bend * u;
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
                Level::of(values.len()).take_out(&mut values);
                let sine = Wave::of(values.len(), turn).fit(&values);
                let off = (sine.amplitude / 1.5 - 1.0).abs();
                assert!(off < 0.11 && sine.explained > 0.88, "{cycles} {phase}: {sine:?}");
                assert!(
                    Wave::of(values.len(), 2.0 * turn).fit(&values).explained < 0.05,
                    "{cycles} {phase}"
                );
            }
        }
    }

    #[test]
    fn nothing_is_no_sine() {
        assert_eq!(Wave::of(20, 0.7).fit(&[0.0; 20]), Sine::default());
        assert_eq!(Wave::of(0, 0.7).fit(&[]), Sine::default());
        Level::of(0).take_out(&mut []);
        let mut one = [4.0];
        Level::of(1).take_out(&mut one);
        assert_eq!(one, [0.0]);
    }
}
