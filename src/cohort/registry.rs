//! Every cohort check of the house. Adding one: its `mod` line in `cohort`, and its line here.

use super::CohortCheck;
use super::missing_grasp::MissingGrasp;
use super::outlier::OutlierEpisode;

/// All cohort checks, in the order in which a person reads them.
pub static COHORT_CHECKS: &[&dyn CohortCheck] = &[&OutlierEpisode, &MissingGrasp];

/// The cohort check with this id.
pub fn find(id: &str) -> Option<&'static dyn CohortCheck> {
    COHORT_CHECKS.iter().copied().find(|check| check.spec().id == id)
}
