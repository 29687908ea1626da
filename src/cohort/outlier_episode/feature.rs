//! One feature of an episode, made comparable: skew taken out, length regressed out, robustly
//! standardised, wild values drawn in.

use crate::num::quantile::quantile_sorted;
use crate::num::robust::{mad_sigma, median};
use crate::num::scale::qn;
use crate::num::theil_sen::theil_sen;

/// Deviations beyond this many sigmas count only by their logarithm. Real features have heavier
/// tails than a normal, so a single wild reading must not condemn an episode by its size alone;
/// several at once do.
const DRAWN_IN: f64 = 2.5;
/// Scales below this share of the values are rounding of the stored `f32`.
const CONSTANT: f64 = 1e-6;
/// Share of the episodes that must have a reading.
const PRESENT: f64 = 0.75;
/// A log scale has the benefit of this doubt, over the root of the number of episodes.
const SKEW_DOUBT: f64 = 0.5;
/// Most episodes that the slope on length is fitted on: pairs grow with the square.
const SLOPE_ROWS: usize = 120;
/// Sigmas of a normal between its 15th and 85th percentile.
const OUTER_SIGMAS: f64 = 2.0729;
/// Scales below this share of the least spread that matters are not believed: an episode that is off
/// by a tenth of a degree where others are off by a fiftieth is worth nobody's look.
const NOBODYS: f64 = 0.25;
/// Confidence at which a slope on length must differ from zero to be taken out.
const SLOPE_CONFIDENCE: f64 = 0.95;

/// How a column of the ledger becomes a standard score.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Feature {
    /// Where the column stands among the ledger's columns.
    pub column: usize,
    /// Least value seen, where scores are taken on a log scale.
    floor: Option<f64>,
    slope: f64,
    centre: f64,
    scale: f64,
    /// A scale that bimodal features and the grid of a sensor cannot make small: what a single
    /// feature must be far beyond to make an outlier alone.
    wide: f64,
    /// Centre without the slope on length.
    plain_centre: f64,
}

impl Feature {
    /// Learns a column from the rows of the fit; `least_scale` is the least spread of it that
    /// matters to anybody. `None` if it is mostly missing or near-constant.
    pub fn learn(
        column: usize,
        values: &[f32],
        rows: &[usize],
        log_length: &[f64],
        least_scale: f64,
    ) -> Option<Self> {
        let present: Vec<(f64, f64)> = rows
            .iter()
            .filter_map(|&row| Some((log_length[row], f64::from(*values.get(row)?))))
            .filter(|(_, value)| value.is_finite())
            .collect();
        if (present.len() as f64) < PRESENT * rows.len() as f64 {
            return None;
        }
        let (length, mut value): (Vec<f64>, Vec<f64>) = present.into_iter().unzip();
        let floor = log_floor(&value);
        let size = if floor.is_some() { 1.0 } else { median(&value).abs() };
        let least_scale = least_scale / if floor.is_some() { median(&value) } else { 1.0 };
        if floor.is_some() {
            for v in &mut value {
                *v = v.ln();
            }
        }
        let plain_centre = median(&value);
        let slope = slope_on(&length, &value);
        for (v, length) in value.iter_mut().zip(&length) {
            *v -= slope * length;
        }
        let centre = median(&value);
        // The largest: on readings with many ties either estimate may be too small.
        let scale = qn(&value).max(mad_sigma(&value)).max(NOBODYS * least_scale);
        let varies = mad_sigma(&value) > CONSTANT * size && scale > f64::MIN_POSITIVE;
        value.sort_unstable_by(f64::total_cmp);
        let at = |p: f64| quantile_sorted(&value, p);
        let wide = scale.max((at(0.85) - at(0.15)) / OUTER_SIGMAS).max(least_scale);
        varies.then_some(Self { column, floor, slope, centre, scale, wide, plain_centre })
    }

    /// The value's standard score; zero where it is missing.
    pub fn score(&self, value: f32, log_length: f64) -> f64 {
        let value = f64::from(value);
        if !value.is_finite() {
            return 0.0;
        }
        let value = self.floor.map_or(value, |floor| value.max(floor).ln());
        drawn_in((value - self.slope * log_length - self.centre) / self.scale, DRAWN_IN)
    }
}

impl Feature {
    /// How many wide scales the value lies from the usual, nothing drawn in: with or without the
    /// slope on length, whichever is less.
    pub fn far(&self, value: f32, log_length: f64) -> f64 {
        let value = f64::from(value);
        if !value.is_finite() {
            return 0.0;
        }
        let value = self.floor.map_or(value, |floor| value.max(floor).ln());
        let sloped = (value - self.slope * log_length - self.centre).abs();
        sloped.min((value - self.plain_centre).abs()) / self.wide
    }
}

/// Leaves ordinary scores alone and lets those beyond grow only like a logarithm.
pub(super) fn drawn_in(score: f64, knee: f64) -> f64 {
    let size = score.abs();
    if size <= knee { score } else { (knee * (1.0 + (size / knee).ln())).copysign(score) }
}

/// The least value if the column is positive and more symmetric on a log scale, or as good as: most
/// positive measurements are skewed, and few episodes show it badly. Symmetry is judged by the
/// outer eighths, which a tenth of outliers cannot reach.
fn log_floor(values: &[f64]) -> Option<f64> {
    let mut sorted = values.to_vec();
    sorted.sort_unstable_by(f64::total_cmp);
    let least = *sorted.first()?;
    let eighths = |p: f64| quantile_sorted(&sorted, p);
    let (low, middle, high) = (eighths(0.125), eighths(0.5), eighths(0.875));
    let skew = |low: f64, middle: f64, high: f64| (high + low - 2.0 * middle) / (high - low);
    let raw = skew(low, middle, high);
    let logged = skew(low.ln(), middle.ln(), high.ln());
    let doubt = SKEW_DOUBT / (sorted.len() as f64).sqrt();
    (least > 0.0 && logged.abs() < raw.abs() + doubt).then_some(least)
}

/// Robust slope of the values on log-length, or zero where none is proven.
fn slope_on(length: &[f64], value: &[f64]) -> f64 {
    let step = length.len().div_ceil(SLOPE_ROWS).max(1);
    let thin = |values: &[f64]| -> Vec<f64> { values.iter().step_by(step).copied().collect() };
    let Some(fit) = theil_sen(&thin(length), &thin(value), SLOPE_CONFIDENCE) else { return 0.0 };
    let (low, high) = fit.interval;
    if low > 0.0 || high < 0.0 { fit.slope } else { 0.0 }
}
