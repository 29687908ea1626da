//! `columns`: which column plays which role, and the profile that says so.

use std::path::PathBuf;

use super::data::Data;
use super::spare::spare;
use super::{AppError, Choice, DataRequest, all};
use crate::engine::Workers;
use crate::model::CheckSpec;
use crate::profile::Profile;
use crate::report::Understood;
use crate::source::{Dataset, Source as _};

/// How a dataset was understood.
#[derive(Debug)]
pub struct Columns {
    pub(crate) source: Dataset,
    profile: Profile,
    profile_path: Option<PathBuf>,
}

/// Opens a dataset and decides which column plays which role. `writes` are files that the caller will
/// write: refused if one of them is a recording.
///
/// # Errors
/// If there is no dataset, or its roles cannot be decided.
pub fn columns(request: &DataRequest, writes: &[PathBuf]) -> Result<Columns, AppError> {
    let data = Data::new(request)?;
    let source = data.open(&Workers::start(None)?)?;
    // The profile that was read may be replaced by what became of it.
    spare(writes, source.inputs(), data.profile.declared.urdf.as_slice())?;
    Ok(Columns { source, profile: data.profile, profile_path: data.profile_path })
}

impl Columns {
    /// What was understood as a profile to edit, with the limits and parameters that were in force.
    pub fn to_profile(&self) -> String {
        self.profile.over(self.source.rig(), self.source.roles()).to_toml(&all())
    }

    /// What the renderer looks at. `next` is the command to go on with.
    pub(crate) fn view<'a>(&'a self, next: &'a str) -> Understood<'a> {
        Understood {
            rig: self.source.rig(),
            roles: self.source.roles(),
            inputs: self.source.inputs(),
            unread: self.source.unread(),
            skipped: self.source.skipped(),
            episodes: self.source.episodes(),
            profile: self.profile_path.as_deref(),
            next,
        }
    }
}

/// The profile in force for a dataset, with every limit and parameter, as it can be fed back in.
///
/// # Errors
/// If there is no dataset, or its roles cannot be decided.
pub fn profile_in_force(request: &DataRequest, choice: &Choice) -> Result<String, AppError> {
    let data = Data::new(request)?;
    let checks = choice.under(&data.profile)?;
    let source = data.open(&Workers::start(None)?)?;
    let mut profile = data.profile.over(source.rig(), source.roles());
    let runs = |spec: &CheckSpec| checks.iter().any(|check| check.id == spec.id);
    profile.skip = all().iter().filter(|spec| !runs(spec)).map(|spec| spec.id).collect();
    Ok(profile.to_whole_toml(&all()))
}
