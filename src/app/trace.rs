//! `trace`: one episode, read and measured alone.

use std::path::PathBuf;

use super::data::{Data, no_episode};
use super::spare::spare;
use super::{AppError, Choice, DataRequest, checks};
use crate::engine::{self, Workers};
use crate::model::{Episode, EpisodeIndex, Scorecard, Verdict};
use crate::profile::nearest;
use crate::source::{Dataset, Source as _};

/// Which episode to look at.
#[derive(Debug, Clone, Default)]
pub struct TraceRequest {
    /// The dataset.
    pub data: DataRequest,
    /// Id of the episode.
    pub episode: String,
    /// Which checks run.
    pub checks: Choice,
    /// Names of the joints; none are all.
    pub joints: Vec<String>,
    /// Files that the caller will write: refused if one of them is read.
    pub writes: Vec<PathBuf>,
}

/// An episode and what was found in it.
#[derive(Debug)]
pub struct TracedEpisode {
    pub(crate) source: Dataset,
    pub(crate) episode: Episode,
    pub(crate) card: Scorecard,
    /// The joints that were asked for, in the order of the rig.
    pub(crate) joints: Vec<usize>,
}

impl TracedEpisode {
    /// The verdict on the episode, by the checks that ran.
    pub fn verdict(&self) -> Verdict {
        self.card.verdict
    }
}

/// Reads one episode, and nothing that is stored elsewhere.
///
/// # Errors
/// If the dataset, the episode or a joint is not there, or cannot be read.
pub fn trace(request: &TraceRequest) -> Result<TracedEpisode, AppError> {
    let data = Data::new(&request.data)?;
    let chosen = request.checks.under(&data.profile)?;
    let workers = Workers::start(None)?;
    let plan = checks::plan(&data.profile, &chosen);
    let source = data.open(&workers)?.reading(&plan.extras());
    let plan = plan.of_rig(source.rig());
    let id = request.episode.as_str();
    let index = index_of(&source, id)?;
    let mut found = None;
    let unread = engine::episodes(&source, &[index], &workers, &mut |episode| {
        found = Some((episode.clone(), engine::card(episode, &plan)));
    });
    let (episode, card) = found.ok_or_else(|| {
        let why = unread.first().map_or_else(
            || "it holds no row".to_owned(),
            |file| format!("{}: {}", file.path.display(), file.reason),
        );
        AppError::input(format!("episode \"{id}\" could not be read: {why}"))
    })?;
    let joints = joints(&episode, &request.joints)?;
    spare(&request.writes, source.inputs(), &data.files)?;
    Ok(TracedEpisode { source, episode, card, joints })
}

fn index_of(source: &Dataset, id: &str) -> Result<EpisodeIndex, AppError> {
    let all = (0..source.episodes()).map(EpisodeIndex::new);
    if let Some(index) = all.clone().find(|at| source.episode_id(*at) == Some(id)) {
        return Ok(index);
    }
    Err(match source.unread() {
        [] => {
            let ids: Vec<&str> = all.filter_map(|at| source.episode_id(at)).collect();
            no_episode(id, &ids.iter().copied())
        }
        // It may well be in there, so no other one is proposed.
        [file, ..] => AppError::input(format!("there is no episode \"{id}\"")).with_hint(format!(
            "not read: {}: {}",
            file.path.display(),
            file.reason
        )),
    })
}

/// The joints that are named, in the order of the rig, else all.
fn joints(episode: &Episode, named: &[String]) -> Result<Vec<usize>, AppError> {
    let names: Vec<&str> = episode.rig.joints.iter().map(|joint| joint.name.as_str()).collect();
    for name in named {
        if !names.contains(&name.as_str()) {
            let near = nearest(name, names.iter().copied());
            let hint = near.map_or_else(
                || format!("its joints: {}", names.join(", ")),
                |near| format!("did you mean \"{near}\"?"),
            );
            return Err(AppError::input(format!("there is no joint \"{name}\"")).with_hint(hint));
        }
    }
    let wanted = |joint: &usize| named.is_empty() || named.iter().any(|name| name == names[*joint]);
    Ok((0..episode.state.joints().min(names.len())).filter(wanted).collect())
}
