//! Runs of equal values in a signal, and whether motion goes on before and after them.
//!
//! A run is from its first repeat to before its end: the value before `start` is the first of the
//! equal ones.

use super::quantile::median_in_place;
use super::robust::MAD_TO_SIGMA;
use super::wide::{any, eight_fn, eight_from};

eight_fn! {
    /// Rows whose reading the next one repeats, and the one after that departs from by at least
    /// `smallest`: where every run of equal values ends that is looked at more closely.
    pub fn held_before_step<'a>(simd, values: &'a [f32], smallest: f32) -> Vec<usize> {
        let mut found = Vec::new();
        let last = values.len().saturating_sub(2);
        let least = simd.splat_f32s(smallest);
        for first in (0..last).step_by(8) {
            let (now, next) = (eight_from(values, first), eight_from(values, first + 1));
            let then = eight_from(values, first + 2);
            let step = simd.abs_f32s(simd.sub_f32s(then, next));
            let held = simd.equal_f32s(now, next);
            let told = simd.and_m32s(held, simd.greater_than_or_equal_f32s(step, least));
            if any(told) {
                let told = |at: &usize| {
                    let (now, next, then) = (values[*at], values[at + 1], values[at + 2]);
                    now == next && (then - next).abs() >= smallest
                };
                found.extend((first..(first + 8).min(last)).filter(told));
            }
        }
        found
    }
}

/// Whether motion goes on, step by step, on both sides of a run.
pub fn is_bracketed(values: &[f32], start: usize, end: usize, smallest: f32) -> bool {
    let held = values[start - 1];
    let (before, after) = (held - values[start - 2], values[end] - held);
    let steps = (end - start + 1) as f32;
    let missed = 0.6 * steps * before.abs();
    let speed = before.abs().min(after.abs() / steps).copysign(before);
    before.abs() >= smallest
        && before * after > 0.0
        && after.abs() >= smallest.max(missed)
        && is_steady(values, start, end, speed)
}

/// Whether motion goes on over `base` steps on both sides of a run, and jumps by what the run missed:
/// where frames come fast, single steps are a count or two.
pub fn is_long(values: &[f32], start: usize, end: usize, base: usize) -> bool {
    if start < 1 + 2 * base || end + 2 * base >= values.len() {
        return false;
    }
    let moved = |from: usize| values[from + base] - values[from];
    let around = [start - 1 - 2 * base, start - 1 - base, end, end + base].map(moved);
    let jump = values[end] - values[start - 1];
    let steps = (end - start + 1) as f32 / base as f32;
    let slowest = around.iter().fold(f32::INFINITY, |low, m| low.min(m * jump.signum()));
    let fastest = around.iter().fold(0.0f32, |high, m| high.max(m.abs()));
    let missed = jump.abs() / steps;
    slowest > 0.4 * fastest && (0.6 * slowest..2.0 * fastest).contains(&missed)
}

/// How many standard deviations of what noise does to a step the motion is that a joint's repeat
/// missed: a noisy reading repeats by chance. Noise is what steps differ by, there or in the `whole`
/// episode: two dozen of them alone may well look calm by chance.
pub fn stands_out(values: &[f32], start: usize, end: usize, whole: f64) -> f64 {
    const AROUND: usize = 13;
    let before = &values[start.saturating_sub(AROUND)..start];
    let after = &values[end..(end + AROUND).min(values.len())];
    let noise = noise(&[before, after]).max(whole);
    let run = (end - start) as f64;
    let missed = f64::from((values[end] - values[start - 1]).abs()) * run / (run + 1.0);
    missed / noise.max(f64::MIN_POSITIVE)
}

/// Standard deviation of the noise in a step.
pub fn noise(parts: &[&[f32]]) -> f64 {
    let changes = parts.iter().flat_map(|part| part.windows(3));
    let mut changes: Vec<f32> = changes.map(|s| (s[2] - 2.0 * s[1] + s[0]).abs()).collect();
    // The difference of two steps holds the noise of three readings, a step that of two of them.
    MAD_TO_SIGMA * median_in_place(&mut changes) / 3f64.sqrt()
}

/// Whether the joint keeps its direction and 0.4 of its speed three steps before and after.
fn is_steady(values: &[f32], start: usize, end: usize, speed: f32) -> bool {
    const STEPS: usize = 3;
    let keeps = |part: &[f32]| {
        part.windows(2).all(|pair| (pair[1] - pair[0]) * speed.signum() >= 0.4 * speed.abs())
    };
    let before = &values[start.saturating_sub(STEPS + 1)..start];
    let after = &values[end - 1..(end + STEPS).min(values.len())];
    keeps(before) && keeps(after)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ramp(step: f32, held: std::ops::Range<usize>) -> Vec<f32> {
        let at = |i: usize| if held.contains(&i) { held.start - 1 } else { i };
        (0..60).map(|i| at(i) as f32 * step).collect()
    }

    #[test]
    fn a_ramp_that_holds_is_bracketed_by_motion() {
        let values = ramp(1.0, 30..33);
        assert!(is_bracketed(&values, 30, 33, 0.5) && !is_bracketed(&values, 30, 33, 1.5));
        assert!(is_long(&values, 30, 33, 4));
        // A pause: motion goes on where it stopped.
        let pause: Vec<f32> = (0..60).map(|i: i32| (i - (i - 29).clamp(0, 3)) as f32).collect();
        assert!(!is_bracketed(&pause, 30, 33, 0.5) && !is_long(&pause, 30, 33, 4));
    }

    #[test]
    fn steps_after_a_repeat_are_found_wherever_they_are() {
        for n in 0..40usize {
            for smallest in [0.0, 0.5, 1.5] {
                let values: Vec<f32> = (0..n).map(|i| (i * i / 3 % 5) as f32).collect();
                let told = |at: &usize| {
                    values[*at] == values[at + 1]
                        && (values[at + 2] - values[at + 1]).abs() >= smallest
                };
                let want: Vec<usize> = (0..n.saturating_sub(2)).filter(told).collect();
                assert_eq!(held_before_step(&values, smallest), want, "{n} {smallest}");
            }
        }
    }

    #[test]
    fn a_run_at_either_end_is_bracketed_by_nothing() {
        let values = ramp(1.0, 5..8);
        assert!(!is_long(&values, 5, 8, 4) && !is_long(&ramp(1.0, 54..57), 54, 57, 4));
    }
}
