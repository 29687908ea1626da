//! The checks: each reads one episode and writes down measurements.
//!
//! Layer 2: knows [`crate::model`] and [`crate::num`]. A check knows no thresholds beyond the
//! defaults it declares. Only [`mod@crate::judge`] compares numbers with limits. The list of all checks
//! is in [`mod@crate::catalogue`].

mod definition;
mod gate;
mod metric_of;
mod params;
mod prelude;
mod session_sheet;
pub mod study;
#[cfg(test)]
pub(crate) mod testing;

pub mod base;
pub mod cameras;
pub mod limits;
pub mod mapping;
pub mod motion;
pub mod signal;
pub mod timing;
pub mod tracking;

pub use gate::{Gate, Parts, Studies, rig_of};
pub use prelude::{Check, CohortSheet, MetricOf, Params, Study, settings};
