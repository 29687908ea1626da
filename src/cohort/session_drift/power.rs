//! How many episodes it takes to prove a drift that matters.

use statrs::distribution::{ContinuousCDF, Normal};

use crate::num::scale::qn;

/// Of drifts that are called provable so many are proven: a normal's 80 %.
const POWER_SIGMAS: f64 = 0.8416;
/// Qn is known to this over the root of the number of values: 82 % of a normal's information.
const QN_ERROR: f64 = 0.781;
/// Freedoms that a line or two levels and their place take from what they leave.
const FITTED: f64 = 3.0;

/// Standard deviation of what a course leaves, and a standard error more: what scatters little by
/// chance must not look provable.
pub(super) fn scatter(left: &[f64]) -> f64 {
    let n = left.len() as f64;
    qn(left) * (n / (n - FITTED)).sqrt() * (1.0 + QN_ERROR / n.sqrt())
}

/// Independent points from which on a steady drift is proven in four of five series that scatter by
/// so many times its size, where `level` is required of its p-value: the slope of a line over n points is
/// known to √(12 / n) scatters of what it goes over all of them.
pub(super) fn points(scatter: f64, level: f64) -> f64 {
    // Both kinds of course are looked for, and each either way.
    let deviate = -Normal::standard().inverse_cdf(level / 4.0) + POWER_SIGMAS;
    12.0 * (deviate * scatter).powi(2)
}
