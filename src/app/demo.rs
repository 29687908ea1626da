//! `demo`: a simulated session with planted faults, and its answer key.

use std::path::PathBuf;

use super::AppError;
use crate::demo::{self, Layout, Recipe, WriteOptions};

/// Which session to simulate, and where to write it.
#[derive(Debug, Clone)]
pub struct DemoRequest {
    /// Folder to write to: new, empty, or holding an earlier demo.
    pub dir: PathBuf,
    /// Number of episodes.
    pub episodes: u32,
    /// Rate of recording in hertz.
    pub rate_hz: f64,
    /// Seed: the same seed gives the same bytes.
    pub seed: u64,
    /// Layout of the tables.
    pub layout: Layout,
    /// Asked before each episode whether to give up.
    pub stop: fn() -> bool,
}

impl DemoRequest {
    /// The session of `teleassay demo DIR`.
    pub fn new(dir: impl Into<PathBuf>) -> Self {
        let (dir, layout) = (dir.into(), Layout::List);
        Self { dir, episodes: 24, rate_hz: 30.0, seed: 1, layout, stop: || false }
    }
}

/// The files of a simulated session.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DemoFiles {
    /// The tables, in order.
    pub tables: Vec<PathBuf>,
    /// Number of episodes.
    pub episodes: u64,
    /// Number of frames.
    pub frames: u64,
}

/// Simulates a session and writes it, with a profile and the answer key.
///
/// # Errors
/// If the folder holds anything else, or cannot be written to.
pub fn demo(request: &DemoRequest) -> Result<DemoFiles, AppError> {
    let recipe = Recipe {
        rate_hz: request.rate_hz,
        seed: request.seed,
        ..Recipe::nursery().of_episodes(u64::from(request.episodes))
    };
    let options =
        WriteOptions { layout: request.layout, stop: request.stop, ..WriteOptions::default() };
    let written = demo::write(&request.dir, &recipe, &options)?;
    Ok(DemoFiles { tables: written.tables, episodes: written.episodes, frames: written.frames })
}
