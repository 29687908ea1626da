//! Every cohort check of the house. Adding one: its `mod` line in `cohort`, and its line here.

use super::CohortCheck;
use super::action_consistency::ActionConsistency;
use super::constant_dimension::ConstantDimension;
use super::coverage::Coverage;
use super::duplicate::DuplicateEpisode;
use super::missing_grasp::MissingGrasp;
use super::mixed_endings::MixedEndings;
use super::mixed_paces::MixedPaces;
use super::odd_chatter::OddChatter;
use super::odd_duration::OddDuration;
use super::odd_motion::OddMotion;
use super::odd_path::OddPath;
use super::outlier::OutlierEpisode;
use super::session_drift::SessionDrift;
use super::start_pose::StartPose;
use super::task_label::TaskLabel;

/// All cohort checks, in the order in which a person reads them; a cause comes before what it
/// silences.
pub static COHORT_CHECKS: &[&dyn CohortCheck] = &[
    &OddChatter,
    &OddMotion,
    &OddDuration,
    &OutlierEpisode,
    &OddPath,
    &StartPose,
    &MissingGrasp,
    &TaskLabel,
    &MixedEndings,
    &MixedPaces,
    &SessionDrift,
    &DuplicateEpisode,
    &ConstantDimension,
    &ActionConsistency,
    &Coverage,
];

/// The cohort check with this id.
pub fn find(id: &str) -> Option<&'static dyn CohortCheck> {
    COHORT_CHECKS.iter().copied().find(|check| check.spec().id == id)
}
