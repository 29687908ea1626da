//! Amplitude spectra of short signals, and the spectral arc length of a speed profile.
//!
//! Source of SPARC: Balasubramanian, Melendez-Calderon, Roby-Brami and Burdet 2015, "On the analysis
//! of movement smoothness", Journal of Neuroengineering and Rehabilitation 12:112, doi
//! 10.1186/s12984-015-0090-9.

use std::sync::{Arc, OnceLock};

use realfft::num_complex::Complex;
use realfft::{RealFftPlanner, RealToComplex};

/// Largest power of two that is transformed: half a million points.
const MOST_POWER: usize = 19;

type Plan = Arc<dyn RealToComplex<f64>>;

/// A plan costs more to draw up than to carry out, and the same lengths come again and again.
static PLANS: [OnceLock<Plan>; MOST_POWER + 1] = [const { OnceLock::new() }; MOST_POWER + 1];

/// Transforms signals padded with zeros to a power of two, with buffers used again.
#[derive(Debug, Default)]
pub struct Spectrum {
    input: Vec<f64>,
    output: Vec<Complex<f64>>,
    scratch: Vec<Complex<f64>>,
    amplitudes: Vec<f64>,
}

impl Spectrum {
    /// Amplitudes of the frequencies `k fs / n`, `k = 0 ..= n / 2`, where `n` is the signal's length
    /// rounded up to a power of two and doubled `doublings` times. Empty for a signal of fewer
    /// than two values, or a transform of more than half a million points.
    pub fn amplitudes(
        &mut self,
        signal: impl ExactSizeIterator<Item = f64>,
        doublings: usize,
    ) -> &[f64] {
        self.amplitudes.clear();
        let length = signal.len();
        let power = length.max(1).next_power_of_two().trailing_zeros() as usize + doublings;
        if length < 2 || power > MOST_POWER {
            return &self.amplitudes;
        }
        let plan = PLANS[power].get_or_init(|| RealFftPlanner::new().plan_fft_forward(1 << power));
        self.input.clear();
        self.input.extend(signal);
        self.input.resize(1 << power, 0.0);
        let zero = Complex::new(0.0, 0.0);
        self.output.resize((1 << power) / 2 + 1, zero);
        self.scratch.resize(plan.get_scratch_len(), zero);
        if plan.process_with_scratch(&mut self.input, &mut self.output, &mut self.scratch).is_ok() {
            self.amplitudes.extend(self.output.iter().map(|c| c.norm_sqr().sqrt()));
        }
        &self.amplitudes
    }

    /// Spectral arc length of a speed profile sampled at `rate_hz`: nearer to zero is smoother; a
    /// single smooth motion reads -1.4. `None` for a profile that is too short or never moves.
    ///
    /// The spectrum is cut off at `cutoff_hz` and beyond the last frequency whose amplitude is
    /// `threshold` of the largest; `doublings` of the padded length (4 in the published form) make it
    /// denser.
    pub fn arc_length(
        &mut self,
        speed: impl ExactSizeIterator<Item = f64>,
        rate_hz: f64,
        Cut { doublings, cutoff_hz, threshold }: Cut,
    ) -> Option<f64> {
        let amplitudes = self.amplitudes(speed, doublings);
        let largest = amplitudes.iter().copied().fold(0.0, f64::max);
        if largest.is_nan() || largest <= 0.0 || rate_hz.is_nan() || rate_hz <= 0.0 {
            return None;
        }
        let step_hz = rate_hz / (2 * (amplitudes.len() - 1)) as f64;
        let within = ((cutoff_hz / step_hz + 1e-9) as usize + 1).min(amplitudes.len());
        let heard = |a: &f64| *a >= threshold * largest;
        let first = amplitudes[..within].iter().position(heard)?;
        let last = amplitudes[..within].iter().rposition(heard)?;
        if last == first {
            return None;
        }
        let run = 1.0 / (last - first) as f64;
        let arc = amplitudes[first..=last]
            .windows(2)
            .map(|pair| run.hypot((pair[1] - pair[0]) / largest))
            .sum::<f64>();
        Some(-arc)
    }
}

/// How a spectrum is cut for its arc length.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cut {
    /// How often the padded length is doubled.
    pub doublings: usize,
    /// Highest frequency looked at, hertz.
    pub cutoff_hz: f64,
    /// Share of the largest amplitude below which the end of the spectrum is left out.
    pub threshold: f64,
}

/// The cut of the published form.
pub const PUBLISHED: Cut = Cut { doublings: 4, cutoff_hz: 10.0, threshold: 0.05 };

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_cosine_has_one_line() {
        let wave = (0..64).map(|i| (std::f64::consts::TAU * 5.0 * f64::from(i) / 64.0).cos());
        let mut spectrum = Spectrum::default();
        let lines = spectrum.amplitudes(wave, 0);
        assert_eq!(lines.len(), 33);
        for (k, line) in lines.iter().enumerate() {
            let want = if k == 5 { 32.0 } else { 0.0 };
            assert!((line - want).abs() < 1e-9, "{k}: {line}");
        }
    }

    #[test]
    fn nothing_moves_nothing_to_say() {
        let mut spectrum = Spectrum::default();
        assert_eq!(spectrum.arc_length([0.0; 50].into_iter(), 30.0, PUBLISHED), None);
        assert_eq!(spectrum.arc_length([1.0].into_iter(), 30.0, PUBLISHED), None);
    }
}
