//! Which data, and what is known of it.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use crate::app::{AppError, Stated, all};
use crate::engine::Workers;
use crate::model::{Outcome, count};
use crate::profile::{Profile, nearest};
use crate::source::{Dataset, SourceError};
use crate::store;

/// A dataset, and what is known of it beforehand.
#[derive(Debug, Clone, Default)]
pub struct DataRequest {
    /// Files, folders or globs.
    pub paths: Vec<PathBuf>,
    /// The profile; by default the nearest `teleassay.toml`, next to the data or in a folder above.
    pub profile: Option<PathBuf>,
    /// Rate at which the rig was meant to record, in hertz.
    pub rate_hz: Option<f64>,
    /// URDF of the follower.
    pub urdf: Option<PathBuf>,
    /// Columns and unit that are stated for this run.
    pub stated: Stated,
    /// A measurements file whose rig is taken instead of looking at the data.
    pub rig: Option<PathBuf>,
}

impl DataRequest {
    /// A dataset of which nothing more is known.
    pub fn new(path: impl Into<PathBuf>) -> Self {
        Self { paths: vec![path.into()], ..Self::default() }
    }
}

/// The same with the profile read and the options put over it.
#[derive(Debug)]
pub(super) struct Data {
    pub paths: Vec<PathBuf>,
    pub profile: Profile,
    /// Where the profile was found.
    pub profile_path: Option<PathBuf>,
    /// Files other than the recordings that are read.
    pub files: Vec<PathBuf>,
    /// The measurements file that the rig is from.
    rig: Option<PathBuf>,
}

impl Data {
    /// Reads what is known of the data.
    pub fn new(request: &DataRequest) -> Result<Self, AppError> {
        let (mut profile, profile_path) =
            profile(request.profile.as_deref(), request.paths.first().map(PathBuf::as_path))?;
        if request.rate_hz.is_some() {
            profile.declared.rate_hz = request.rate_hz;
        }
        request.stated.over(&mut profile.declared)?;
        if request.urdf.is_some() {
            profile.declared.urdf.clone_from(&request.urdf);
        }
        if let Some(path) = &request.rig {
            let stored = store::read(std::slice::from_ref(path))?;
            profile.declared.rig = Some(Arc::clone(stored.rig()));
        }
        let files = [&profile_path, &profile.declared.urdf, &request.rig];
        let files = files.into_iter().flatten().cloned().collect();
        let (paths, rig) = (request.paths.clone(), request.rig.clone());
        Ok(Self { paths, profile, profile_path, files, rig })
    }

    /// Opens the dataset: finds its tables, decides the roles, surveys the rig.
    pub fn open(&self, workers: &Workers) -> Result<Dataset, AppError> {
        let opened = workers.run(|| Dataset::open(&self.paths, &self.profile.declared));
        opened.map_err(|error| match (&error, &self.rig) {
            (SourceError::OtherRig(_), Some(rig)) => {
                AppError::from(error).of(&rig.display().to_string())
            }
            _ => error.into(),
        })
    }
}

/// The profile that is named, else the nearest one to the data, else an empty one; and where it is.
pub(super) fn profile(
    named: Option<&Path>,
    data: Option<&Path>,
) -> Result<(Profile, Option<PathBuf>), AppError> {
    let found = named.map(Path::to_path_buf).or_else(|| data.and_then(Profile::find));
    let profile = match &found {
        Some(path) => Profile::read(path, &all())?,
        None => Profile::default(),
    };
    Ok((profile, found))
}

/// What the profile of a request says that most likely means something else. A profile that cannot
/// be read has none: running the request reports why.
pub(crate) fn profile_warnings(named: Option<&Path>, data: Option<&Path>) -> Vec<String> {
    profile(named, data).map(|(profile, _)| profile.warnings).unwrap_or_default()
}

/// Refuses an outcome without an episode: either there was none, or none could be read.
pub(super) fn not_empty(outcome: &Outcome) -> Result<(), AppError> {
    if outcome.session.episodes > 0 {
        return Ok(());
    }
    Err(match outcome.unread.as_slice() {
        [] => AppError::nothing("the dataset holds no episode").with_hint(
            "a table needs at least one row; `teleassay columns PATH` shows what is read",
        ),
        [file, rest @ ..] => {
            let more = match rest.len() {
                0 => String::new(),
                n => format!(" (and {n} more files)"),
            };
            let path = file.path.display();
            AppError::input(format!("nothing could be read: {path}: {}{more}", file.reason))
        }
    })
}

/// An episode that is asked for and is not among these.
pub(crate) fn no_episode<'a>(
    id: &str,
    ids: &(impl DoubleEndedIterator<Item = &'a str> + Clone),
) -> AppError {
    let hint = nearest(id, ids.clone()).map_or_else(
        || {
            let mut ends = ids.clone();
            let (first, last) = (ends.next().unwrap_or("-"), ids.clone().next_back());
            let episodes = count(ids.clone().count(), "episode");
            format!("{episodes}, from \"{first}\" to \"{}\"", last.unwrap_or("-"))
        },
        |near| format!("did you mean \"{near}\"?"),
    );
    AppError::input(format!("there is no episode \"{id}\"")).with_hint(hint)
}
