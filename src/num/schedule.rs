//! The period at which stamps were meant to come, from the stamps alone.
//!
//! The median step is not it: of stamps rounded to 10 ms at 30 Hz it is 30 ms, and of rows that came
//! two in a packet it is nothing at all. The mean step is not it either, because of lost rows.
//! What is looked at are chords over many steps: few of them hold a lost row, and the rounding of
//! their ends is shared by all of their steps.

use super::quantile::median_in_place;
use super::receipt::{Receipt, receipt, slopes};

/// Fewer steps than this say no more than their median.
const ENOUGH: usize = 7;
/// Steps to a chord.
const CHORD: usize = 16;
/// A chord in which a row was lost is longer by one period; from this share of it on, it is left out.
const LOST: f64 = 0.6;
/// At least this share of the chords must hold no lost row.
const WHOLE: f64 = 0.25;
/// Steps farther from the period than this share of it may show a quantum of receipt ...
const OFF: f64 = 0.04;
/// ... where there are more of them than this share.
const MANY_OFF: f64 = 0.08;

/// What the stamps of a recording show of its schedule.
#[derive(Debug, Clone, PartialEq)]
pub struct Schedule {
    /// Period in seconds.
    pub period_s: f64,
    /// Set where stamps are not of the rows, but of the packets that they came in.
    pub receipt: Option<Receipt>,
}

/// The schedule of stamps in seconds, missing ones `NaN`; `None` where none is after another.
pub fn schedule(stamps: &[f64]) -> Option<Schedule> {
    let mut forward: Vec<f64> = steps(stamps).filter(|step| *step > 0.0).collect();
    let usual_s = median_in_place(&mut forward);
    if usual_s.is_nan() {
        return None;
    }
    let plain = |period_s| Some(Schedule { period_s, receipt: None });
    if stamps.len() <= ENOUGH {
        return plain(usual_s);
    }
    let (mut slopes, chord) = slopes(stamps, CHORD);
    let middle = median_in_place(&mut slopes);
    let period_s =
        about(&slopes, chord, usual_s).or_else(|| about(&slopes, chord, middle)).unwrap_or(usual_s);
    // Only what is not even is looked at for a quantum.
    let off = steps(stamps).filter(|step| (step - period_s).abs() > OFF * period_s).count();
    if off as f64 > MANY_OFF * stamps.len() as f64
        && let Some(receipt) = receipt(stamps)
    {
        return Some(Schedule { period_s: receipt.period_s, receipt: Some(receipt) });
    }
    plain(period_s)
}

/// Steps between neighbouring stamps that are not missing.
fn steps(stamps: &[f64]) -> impl Iterator<Item = f64> + '_ {
    stamps.windows(2).map(|pair| pair[1] - pair[0]).filter(|step| step.is_finite())
}

/// Mean of the slopes about this one, those of chords with a lost row left out; `None` where most
/// lie elsewhere.
fn about(slopes: &[f64], chord: usize, centre: f64) -> Option<f64> {
    let mut centre = centre;
    for _ in 0..3 {
        let near = |slope: &&f64| (**slope - centre).abs() <= LOST * centre / chord as f64;
        let kept = slopes.iter().filter(near).count();
        if (kept as f64) < WHOLE * slopes.len() as f64 || kept == 0 {
            return None;
        }
        centre = slopes.iter().filter(near).sum::<f64>() / kept as f64;
    }
    Some(centre)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Fractions between 0 and 1 on a fixed pattern.
    fn noise(row: usize) -> f64 {
        let mixed = (row as u64 + 1).wrapping_mul(0x9E37_79B9_7F4A_7C15);
        (mixed ^ (mixed >> 29)).wrapping_mul(0xBF58_476D_1CE4_E5B9) as f64 / u64::MAX as f64
    }

    fn period_s(stamps: &[f64]) -> f64 {
        schedule(stamps).map_or(f64::NAN, |found| found.period_s)
    }

    #[test]
    fn jitter_lost_rows_and_rounding_leave_the_period_as_it_is() {
        for rate_hz in [9.0, 24.0, 29.97, 48.0, 90.0, 240.0] {
            let due: Vec<f64> = (0..400).map(|row| f64::from(row) / rate_hz).collect();
            let off = |period_s: f64| (period_s * rate_hz - 1.0).abs();
            let jitter = |(row, due): (usize, &f64)| due + 0.3 * (noise(row) - 0.5) / rate_hz;
            let jittered: Vec<f64> = due.iter().enumerate().map(jitter).collect();
            assert!(off(period_s(&jittered)) < 2e-3, "{rate_hz} Hz");
            let kept = (0..400).filter(|row| noise(*row) > 0.05).map(|row| jittered[row]);
            assert!(off(period_s(&kept.collect::<Vec<_>>())) < 4e-3, "{rate_hz} Hz");
            let rounded: Vec<f64> = due.iter().map(|t| (t * 1e3).round() * 1e-3).collect();
            assert!(off(period_s(&rounded)) < 2e-3, "{rate_hz} Hz: {}", period_s(&rounded));
        }
    }

    #[test]
    fn few_stamps_and_none_forward() {
        assert_eq!(period_s(&[0.0, 0.1, 0.2, 0.35]), 0.1);
        assert!(schedule(&[1.0, 1.0, 0.5]).is_none() && schedule(&[]).is_none());
        let missing = [0.0, 0.1, 0.2, f64::NAN, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9];
        assert!((period_s(&missing) - 0.1).abs() < 1e-12);
    }
}
