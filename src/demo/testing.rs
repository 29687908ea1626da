//! What tests and benchmarks need of the simulated rig: sessions without files, recipes from files.

use std::path::Path;
use std::sync::Arc;

use super::error::DemoError;
use super::recipe::Recipe;
use super::recording::Recording;
use super::simulate::Simulator;
use crate::model::{Channels, Episode, EpisodeKey, Extras, Rig, RowRange};

/// All episodes of a recipe. For large sessions take [`Simulator::episodes`], one at a time.
///
/// # Errors
/// If the recipe asks for what the rig cannot do.
pub fn simulate(recipe: &Recipe) -> Result<Vec<Recording>, DemoError> {
    Ok(Simulator::new(recipe)?.episodes().collect())
}

impl Simulator {
    /// The recipe.
    pub fn recipe(&self) -> &Recipe {
        &self.recipe
    }

    /// All episodes in order, one at a time.
    pub fn episodes(&self) -> impl Iterator<Item = Recording> + '_ {
        (0..self.recipe.episodes).map(|id| self.episode(id))
    }
}

impl Recipe {
    /// Reads a recipe from a `.json` or `.toml` file.
    ///
    /// # Errors
    /// If the file cannot be read, does not parse, or asks for what the rig cannot do.
    pub fn load(path: &Path) -> Result<Self, DemoError> {
        let text = std::fs::read_to_string(path).map_err(|e| DemoError::file(path, e))?;
        let parsed = if path.extension().is_some_and(|e| e == "toml") {
            toml::from_str(&text).map_err(|e| e.to_string())
        } else {
            serde_json::from_str(&text).map_err(|e| e.to_string())
        };
        let recipe: Self =
            parsed.map_err(|reason| DemoError::Parse { path: path.to_path_buf(), reason })?;
        recipe.check()?;
        Ok(recipe)
    }

    /// The rig after a look at these recordings: with the smallest and largest position measured.
    pub fn surveyed_rig(&self, recordings: &[Recording]) -> Rig {
        let mut rig = self.rig();
        for (joint, place) in rig.joints.iter_mut().zip(0..) {
            let all = recordings.iter().flat_map(|r: &Recording| r.follower[place].iter());
            joint.observed = all.filter(|v| v.is_finite()).fold(None, |seen, v| {
                let (low, high) = seen.unwrap_or((*v, *v));
                Some((v.min(low), v.max(high)))
            });
        }
        rig
    }
}

impl Recording {
    /// The episode as a reader would hand it on, without a file: values go through the table's
    /// unit and 32 bits, as they do in a file.
    pub fn episode(&self, rig: &Arc<Rig>) -> Episode {
        let frames = self.frames();
        let scale = rig.unit.to_radian();
        let channels = |columns: &[Vec<f64>]| {
            let stored =
                columns.iter().flatten().map(|v| (f64::from((v / scale) as f32) * scale) as f32);
            Channels::new(stored.collect(), frames, columns.len())
        };
        Episode {
            key: EpisodeKey {
                id: self.id.to_string(),
                index: self.id.into(),
                task: Some(self.task.clone()),
                rows: RowRange { input: 0, start: 0, end: frames as u64 },
                labels: Vec::new(),
            },
            rig: rig.clone(),
            time_s: self.time_s.clone(),
            state: channels(&self.follower),
            action: Some(channels(&self.leader)),
            ragged_rows: 0,
            extras: Extras::default(),
        }
    }
}
