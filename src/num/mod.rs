//! Slices in, numbers out: the estimators; nothing here knows of robots.
//!
//! Layer 0: knows nothing of the rest of the crate. Unless a function says otherwise, its input is
//! finite (callers leave missing values out) and an empty input gives `NaN`, which no sheet takes.

pub mod assignment;
pub mod bracket;
pub mod change_point;
pub mod copies;
pub mod covariance;
pub mod dispersion;
pub mod explain;
pub mod interval;
pub mod lag;
pub mod lanes;
pub mod mcd;
pub mod moments;
pub mod multiple;
pub mod path;
pub mod permutation;
pub mod quantile;
pub mod receipt;
pub mod resample;
pub mod robust;
pub mod rotation;
pub mod runs;
pub mod scale;
pub mod schedule;
pub mod shift;
pub mod sine;
pub mod spectrum;
pub mod theil_sen;
pub mod two_peaks;
pub mod twosample;
pub mod wide;
