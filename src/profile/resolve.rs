//! From what is written to what is meant.

use super::accept_section;
use super::check_section;
use super::contents::Profile;
use super::error::ProfileError;
use super::file::File;
use super::given::Reader;
use super::place::Place;
use super::rig_section;
use super::signals_section;
use crate::model::CheckSpec;
use crate::source::DeclaredBase;

/// Holds a file against the checks that exist.
pub(super) fn profile(
    file: File,
    place: &Place<'_>,
    checks: &[&'static CheckSpec],
) -> Result<Profile, ProfileError> {
    let mut declared = rig_section::columns(file.columns.unwrap_or_default(), place)?;
    rig_section::rig(file.rig.unwrap_or_default(), place, &mut declared)?;
    signals_section::signals((file.state, file.action), place, &mut declared)?;
    declared.cameras = rig_section::cameras(file.camera, place)?;
    declared.base = file.base.map(|base| DeclaredBase { velocity: base.velocity, pose: base.pose });
    let joints = &declared.joints;
    let linear = !joints.is_empty() && joints.iter().all(|joint| joint.linear);
    let mut reader = Reader { place, linear, warnings: Vec::new() };
    let mut limits = check_section::limits(&file.limits, &mut reader, checks)?;
    accept_section::severities(&file.severity, place, checks, &mut limits)?;
    let accepted = accept_section::accepted(&file.accept, place, checks)?;
    let params = check_section::params(&file.params, &mut reader, checks)?;
    let skip = check_section::skip(&file.checks.unwrap_or_default().skip, place, checks)?;
    Ok(Profile { declared, limits, params, skip, accepted, warnings: reader.said() })
}
