//! What a check is made of, in one import.

pub use super::definition::Check;
pub use super::metric_of::MetricOf;
pub use super::params::Params;
pub use super::session_sheet::CohortSheet;
pub use super::study::{Settings, Study};
pub use super::tracking::tracking_lag::settings;
