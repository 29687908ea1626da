//! Stamps of receipt: rows that were taken at an even pace and stamped when a packet of them came.
//!
//! Such stamps move in multiples of a quantum that is not the period: 200 Hz in packets of 4 ms
//! reads 4, 4, 4, 8 ms, in bursts of two 0 and 10 ms. The number of rows against time is exact all
//! the same: unlike with lost rows, stamps never wander from an even pace by more than a quantum.

use super::quantile::{median_in_place, quantile_in_place};

/// Steps from which the quantum is read.
const SAMPLE: usize = 256;
/// Steps closer than this share of the mean step are of one kind ...
const APART: f64 = 0.05;
/// ... if at least this share of all steps is of that kind.
const OF_A_KIND: f64 = 0.05;
/// Steps lie as near to a multiple of the quantum as this share of it, but for one in twenty.
const NEAR: f64 = 0.12;
const MOST: f64 = 0.95;
/// A quantum between these shares of the period cannot be distinguished from rows that are lost now and then.
const AS_LONG: std::ops::Range<f64> = 0.85..1.15;
/// Rows over which stamps are held against an even pace.
const WINDOW: usize = 48;
/// They stay within so many quanta (one of them, and one for the ends of the window).
const WITHIN: f64 = 2.2;
/// Rows before and after a place in which the earliest stamp is looked for.
const AROUND: usize = 24;
/// Fewer rows than this on either side do not tell which stamp of a packet is the earliest.
const FEWEST: usize = 6;
/// Of the steps that are longer than the usual one at most this share may come of lost rows: the rest
/// is explained by packets. Of rows lost at random nearly half would be.
const MOST_LOST: f64 = 0.25;

/// An even pace behind stamps of receipt.
#[derive(Debug, Clone, PartialEq)]
pub struct Receipt {
    /// Stamps move in multiples of this many seconds.
    pub quantum_s: f64,
    /// Period of the rows in seconds.
    pub period_s: f64,
    /// Rows before which others were lost, and how many.
    pub lost: Vec<(usize, f64)>,
}

impl Receipt {
    /// The stamps as the rows were taken: on the even pace, which follows a clock that drifts.
    pub fn repaired(&self, stamps: &[f64]) -> Vec<f64> {
        let mut even = Vec::with_capacity(stamps.len());
        let (mut more, mut ahead) = (0.0, self.lost.iter().peekable());
        for row in 0..stamps.len() {
            while let Some((_, missing)) = ahead.next_if(|(at, _)| *at <= row) {
                more += missing;
            }
            even.push(self.period_s * (row as f64 + more));
        }
        let mut sums = Vec::with_capacity(stamps.len() + 1);
        let mut sum = 0.0;
        sums.push(sum);
        for (stamp, even) in stamps.iter().zip(&even) {
            sum += stamp - stamps[0] - even;
            sums.push(sum);
        }
        for (row, even) in even.iter_mut().enumerate() {
            let half = AROUND.min(row).min(stamps.len() - 1 - row);
            let (from, to) = (row - half, row + half + 1);
            *even += stamps[0] + (sums[to] - sums[from]) / (to - from) as f64;
        }
        even
    }
}

/// The pace behind stamps of receipt; `None` where the stamps are of the rows themselves.
pub fn receipt(stamps: &[f64]) -> Option<Receipt> {
    // A missing stamp, or a clock that runs backward, leaves no count of rows to rely on.
    if stamps.len() < 16 || !stamps.windows(2).all(|pair| pair[1] >= pair[0]) {
        return None;
    }
    let mean_s = (stamps[stamps.len() - 1] - stamps[0]) / (stamps.len() - 1) as f64;
    let quantum_s = quantum(stamps, mean_s)?;
    let (mut long, _) = slopes(stamps, 4 * WINDOW);
    let mut period_s = median_in_place(&mut long);
    if AS_LONG.contains(&(quantum_s / period_s)) || !keeps_pace(stamps, quantum_s) {
        return None;
    }
    let mut lost = Vec::new();
    for _ in 0..3 {
        lost = losses(stamps, period_s, quantum_s);
        period_s = fitted(stamps, &lost);
    }
    let mut steps: Vec<f64> = stamps.windows(2).map(|pair| pair[1] - pair[0]).collect();
    let usual_s = median_in_place(&mut steps);
    let long = steps.iter().filter(|step| **step > usual_s + 0.5 * quantum_s).count();
    // Stamps in bursts may have as many short steps as long ones, and none longer than the median.
    let long = long.max(steps.iter().filter(|step| **step < usual_s - 0.5 * quantum_s).count());
    let explained = lost.len() as f64 <= MOST_LOST * long as f64;
    explained.then_some(Receipt { quantum_s, period_s, lost })
}

/// Mean step of every chord, half a chord apart, and how many steps a chord has.
pub(super) fn slopes(stamps: &[f64], longest: usize) -> (Vec<f64>, usize) {
    let chord = longest.min(stamps.len() / 4).max(2);
    let ends = stamps.iter().zip(stamps.get(chord..).unwrap_or_default()).step_by(chord / 2);
    let slopes = ends.map(|(from, to)| (to - from) / chord as f64);
    (slopes.filter(|slope| *slope > 0.0 && slope.is_finite()).collect(), chord)
}

/// The distance between the kinds of steps, if all steps are multiples of it.
fn quantum(stamps: &[f64], mean_s: f64) -> Option<f64> {
    let steps = || stamps.windows(2).map(|pair| pair[1] - pair[0]);
    let mut sample: Vec<f64> = steps().take(SAMPLE).collect();
    sample.sort_unstable_by(f64::total_cmp);
    let kinds: Vec<f64> = sample
        .chunk_by(|a, b| b - a <= APART * mean_s)
        .filter(|kind| kind.len() as f64 >= OF_A_KIND * sample.len() as f64)
        .map(|kind| kind[kind.len() / 2])
        .collect();
    let rough_s = kinds.windows(2).map(|pair| pair[1] - pair[0]).reduce(f64::min)?;
    let multiple = |step: f64| (step / rough_s).round();
    let near = |step: &f64| (step / rough_s - multiple(*step)).abs() <= NEAR;
    let all = (stamps.len() - 1) as f64;
    if (steps().filter(near).count() as f64) < MOST * all {
        return None;
    }
    let (sum_s, count) = steps().filter(near).fold((0.0, 0.0), |(s, n), step| {
        let times = multiple(step);
        if times > 0.0 { (s + step, n + times) } else { (s, n) }
    });
    Some(sum_s / count).filter(|quantum_s| quantum_s.is_finite())
}

/// Whether stamps keep an even pace within a quantum over at least a quarter of the recording: the
/// rest may hold lost rows.
fn keeps_pace(stamps: &[f64], quantum_s: f64) -> bool {
    let window = WINDOW.min(stamps.len() - 1);
    let mut ranges: Vec<f64> = stamps
        .windows(window + 1)
        .step_by(window / 2)
        .map(|part| {
            let even_s = (part[window] - part[0]) / window as f64;
            let left = part.iter().enumerate().map(|(row, t)| t - part[0] - even_s * row as f64);
            let (low, high) = left.fold((0f64, 0f64), |(low, high), v| (low.min(v), high.max(v)));
            high - low
        })
        .collect();
    quantile_in_place(&mut ranges, 0.25) <= WITHIN * quantum_s
}

/// Where the earliest stamps of a stretch are later than those before by a period and more.
fn losses(stamps: &[f64], period_s: f64, quantum_s: f64) -> Vec<(usize, f64)> {
    let around = AROUND.max((3.0 * quantum_s / period_s) as usize);
    let late: Vec<f64> =
        stamps.iter().enumerate().map(|(row, t)| t - period_s * row as f64).collect();
    let earliest = |part: &[f64]| part.iter().copied().fold(f64::INFINITY, f64::min);
    let mut lost = Vec::new();
    let fewest = FEWEST.max((3.0 * quantum_s / period_s) as usize);
    let mut row = fewest;
    while row + fewest <= late.len() {
        // Only after a step beyond a quantum can anything be missing.
        if late[row] - late[row - 1] > 0.5 * period_s {
            // The stretch before begins after the last loss.
            let from = lost.last().map_or(0, |(at, _): &(usize, f64)| *at);
            let before = earliest(&late[row.saturating_sub(around).max(from)..row]);
            let after = earliest(&late[row..(row + around).min(late.len())]);
            let missing = ((after - before) / period_s).round();
            if after - before > 0.6 * period_s && missing >= 1.0 {
                lost.push((row, missing));
            }
        }
        row += 1;
    }
    lost
}

/// Slope of the stamps on the rows, the lost ones counted.
fn fitted(stamps: &[f64], lost: &[(usize, f64)]) -> f64 {
    let n = stamps.len() as f64;
    let (mut more, mut ahead) = (0.0, lost.iter().peekable());
    let places: Vec<f64> = (0..stamps.len())
        .map(|row| {
            while let Some((_, missing)) = ahead.next_if(|(at, _)| *at <= row) {
                more += missing;
            }
            row as f64 + more
        })
        .collect();
    let middle = places.iter().sum::<f64>() / n;
    let mean_s = stamps.iter().map(|t| t - stamps[0]).sum::<f64>() / n;
    let pairs = places.iter().zip(stamps);
    let (both, square) = pairs.fold((0.0, 0.0), |(both, square), (place, t)| {
        let off = place - middle;
        (both + off * (t - stamps[0] - mean_s), square + off * off)
    });
    both / square
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Stamps of rows `period_s` apart in packets that come every `quantum_s`.
    fn packets(rows: usize, period_s: f64, quantum_s: f64, lost: &[usize]) -> Vec<f64> {
        let taken = (0..rows).filter(|row| !lost.contains(row)).map(|row| row as f64 * period_s);
        taken.map(|t| ((t + 1e-9) / quantum_s).ceil() * quantum_s).collect()
    }

    #[test]
    fn packets_and_bursts_show_quantum_and_period() {
        for (period_s, quantum_s) in [(0.005, 0.004), (0.005, 0.01), (0.002, 0.004), (0.01, 0.016)]
        {
            let found = receipt(&packets(800, period_s, quantum_s, &[]));
            assert!(found.is_some(), "{period_s} {quantum_s}");
            let Some(found) = found else { continue };
            assert!((found.quantum_s / quantum_s - 1.0).abs() < 1e-3, "{found:?}");
            assert!((found.period_s / period_s - 1.0).abs() < 2e-3, "{found:?}");
            assert!(found.lost.is_empty(), "{found:?}");
        }
    }

    #[test]
    fn rows_lost_between_packets_are_found_on_the_even_pace() {
        for (period_s, quantum_s) in [(0.005, 0.004), (0.005, 0.01)] {
            let gone = [200, 201, 202, 203, 500, 501];
            let stamps = packets(800, period_s, quantum_s, &gone);
            let lost = receipt(&stamps).map_or_else(Vec::new, |found| found.lost);
            let count: Vec<f64> = lost.iter().map(|(_, missing)| *missing).collect();
            assert_eq!(count, [4.0, 2.0], "{period_s} {quantum_s}: {lost:?}");
            assert!(lost[0].0.abs_diff(200) <= 2 && lost[1].0.abs_diff(496) <= 2, "{lost:?}");
        }
    }

    #[test]
    fn repaired_stamps_are_those_of_the_rows() {
        let stamps = packets(800, 0.005, 0.004, &[400, 401, 402]);
        let repaired = receipt(&stamps).map_or_else(Vec::new, |found| found.repaired(&stamps));
        for (row, stamp) in repaired.iter().enumerate().skip(30).take(740) {
            let taken = 0.005 * (if row < 400 { row } else { row + 3 }) as f64;
            // Stamps are late by 2.5 ms on average; near a loss nothing shows where in a packet.
            let near = if row.abs_diff(400) < 30 { 0.004 } else { 0.001 };
            assert!((stamp - taken - 0.0025).abs() < near, "{row}: {stamp} for {taken}");
        }
        assert!(repaired.windows(2).all(|pair| pair[1] > pair[0]));
    }

    #[test]
    fn rows_lost_at_random_and_plain_jitter_are_no_packets() {
        let noise = |row: u64| {
            let mixed = (row + 1).wrapping_mul(0x9E37_79B9_7F4A_7C15);
            (mixed ^ (mixed >> 29)).wrapping_mul(0xBF58_476D_1CE4_E5B9) as f64 / u64::MAX as f64
        };
        for share in [0.12, 0.2, 0.3, 0.5] {
            for seed in 0..40 {
                let kept = (0..1_000).filter(|row| noise(row + 5_000 * seed) > share);
                let stamps: Vec<f64> = kept.map(|row| row as f64 * 0.02).collect();
                assert_eq!(receipt(&stamps), None, "{share} of {seed}");
            }
        }
        let jittered: Vec<f64> = (0..600).map(|i| 0.02 * (i as f64 + 0.7 * noise(i))).collect();
        assert_eq!(receipt(&jittered), None);
    }
}
