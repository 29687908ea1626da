//! Every cohort check of the house. Adding one: its `mod` line in `cohort`, and its line here.

use super::CohortCheck;
use super::action_consistency::ActionConsistency;
use super::constant_dimension::ConstantDimension;
use super::coverage::Coverage;
use super::duplicate::DuplicateEpisode;
use super::duration_outlier::DurationOutlier;
use super::missing_grasp::MissingGrasp;
use super::mixed_endings::MixedEndings;
use super::mixed_speeds::MixedSpeeds;
use super::motion_outlier::MotionOutlier;
use super::outlier::OutlierEpisode;
use super::path_outlier::PathOutlier;
use super::session_drift::SessionDrift;
use super::start_pose::StartPose;
use super::stick_slip_outlier::StickSlipOutlier;
use super::task_label::TaskLabel;

/// All cohort checks, in the order in which a person reads them; a cause comes before what it
/// suppresses.
pub static COHORT_CHECKS: &[&dyn CohortCheck] = &[
    &StickSlipOutlier,
    &MotionOutlier,
    &DurationOutlier,
    &OutlierEpisode,
    &PathOutlier,
    &StartPose,
    &MissingGrasp,
    &TaskLabel,
    &MixedEndings,
    &MixedSpeeds,
    &SessionDrift,
    &DuplicateEpisode,
    &ConstantDimension,
    &ActionConsistency,
    &Coverage,
];

/// The cohort check with this id.
#[cfg(feature = "internals")]
pub fn find(id: &str) -> Option<&'static dyn CohortCheck> {
    COHORT_CHECKS.iter().copied().find(|check| check.spec().id == id)
}
