//! How many episodes it takes to prove a drift that matters.

use std::collections::BTreeSet;

use statrs::distribution::{ContinuousCDF, Normal};

use super::course::ENOUGH;
use super::{CohortSheet, FALSE_ALARM, FOLLOWED, Followed, SPEC};
use crate::model::{Bound, count};
use crate::num::robust::median;
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
/// so many times its size, where `level` is asked of its chance: the slope of a line over n points is
/// known to √(12 / n) scatters of what it goes over all of them.
pub(super) fn points(scatter: f64, level: f64) -> f64 {
    // Both kinds of course are looked for, and each either way.
    let deviate = -Normal::standard().inverse_cdf(level / 4.0) + POWER_SIGMAS;
    12.0 * (deviate * scatter).powi(2)
}

/// Episodes that it takes to see a steady drift of the size that matters among all of these.
pub(super) fn needs(followed: &Followed, usual: f64, among: &[Followed]) -> usize {
    let Bound::Above(limit) = followed.metric.bound else { return ENOUGH };
    let size = limit.warn.or(limit.fail).unwrap_or(f64::INFINITY);
    let scale = if followed.relative() { followed.course.middle.abs() } else { 1.0 };
    // One joint tells its scatter badly: no less than is usual for that measurement.
    let alike = among.iter().filter(|f| f.metric.is(followed.metric));
    let scatter = median(&alike.map(|f| f.course.scatter).collect::<Vec<f64>>());
    // Holm asks the most of the clearest.
    followed.course.needs(size * scale, FALSE_ALARM / among.len() as f64, usual, scatter)
}

/// Says of each measurement that scatters too much for a drift that matters to be distinguished from chance
/// how many episodes its worst joint would take.
pub(super) fn say_unseen(unseen: &[(&Followed, usize)], sheet: &mut CohortSheet) {
    for &(.., metric, name) in FOLLOWED {
        let of = || unseen.iter().filter(|(f, _)| f.metric.is(metric));
        let Some((worst, needs)) = of().max_by_key(|(_, needs)| *needs) else { continue };
        let joints: BTreeSet<_> = of().filter_map(|(f, _)| f.series.joint).collect();
        let on = match joints.len() {
            0 => String::new(),
            many => format!(" of {}", count(many, "joint")),
        };
        let episodes = count(worst.series.rows.len(), "episode");
        let why = format!("needs about {needs} to see a drift of the limit's size");
        sheet.not_assessed(&SPEC, format!("{name}{on}: {episodes}, {why}"));
    }
}
