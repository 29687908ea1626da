//! `columns`: which column plays which role, and the profile that says so.

use std::path::PathBuf;

use super::data::Data;
use super::spare::spare;
use super::{AppError, Choice, DataRequest, all};
use crate::engine::Workers;
use crate::model::CheckSpec;
use crate::profile::{FILE_NAME, Profile};
use crate::report::Understood;
use crate::source::{Dataset, Source as _, UnusedColumn};

/// How a dataset was understood.
#[derive(Debug)]
pub struct Columns {
    pub(crate) source: Dataset,
    profile: Profile,
    profile_path: Option<PathBuf>,
    unused: Vec<UnusedColumn>,
    paths: Vec<PathBuf>,
    workers: Workers,
}

/// Opens a dataset and decides which column plays which role. `writes` are files that the caller will
/// write: refused if one of them is a recording.
///
/// # Errors
/// If there is no dataset, or its roles cannot be decided.
pub fn columns(request: &DataRequest, writes: &[PathBuf]) -> Result<Columns, AppError> {
    let data = Data::new(request)?;
    let workers = Workers::start(None)?;
    let source = data.open(&workers)?;
    // The profile that was read may be replaced by what became of it.
    spare(writes, source.inputs(), data.profile.declared.urdf.as_slice())?;
    let unused = source.unused(&data.profile.declared);
    let Data { profile, profile_path, paths, .. } = data;
    Ok(Columns { source, profile, profile_path, unused, paths, workers })
}

impl Columns {
    /// What was understood as a profile to edit, with the limits and parameters that were in force.
    ///
    /// # Errors
    /// If the dataset could not be opened with it again: by a fault of this program.
    pub fn to_profile(&self) -> Result<String, AppError> {
        let text = self.profile.over(self.source.rig(), self.source.roles()).to_toml(&all());
        // Whoever is given a profile can use it.
        let refused = |why: String| {
            AppError::internal(format!("the profile of this data would be refused: {why}"))
        };
        let read = Profile::parse(&text, FILE_NAME, &all()).map_err(|e| refused(e.to_string()))?;
        let again = self.workers.run(|| Dataset::open(&self.paths, &read.declared));
        let again = again.map_err(|error| refused(error.to_string()))?;
        let columns = |source: &Dataset| -> Vec<Vec<String>> {
            source.roles().iter().map(|role| role.columns.clone()).collect()
        };
        if columns(&again) == columns(&self.source) {
            return Ok(text);
        }
        Err(refused("it gives the columns other roles".to_owned()))
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
            unused: &self.unused,
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
