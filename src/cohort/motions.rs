//! Simulated sessions, sketched, for the tests of the checks that look at motion.

use std::sync::Arc;

use crate::check::{Check, CohortSheet, Params};
use crate::demo::{DemoError, Recipe, Recording, Simulator, StoredUnit, healthy};
use crate::model::{Episode, Ledger, Reading, Row, Sketch};

/// Rates, joints and sizes that healthy sessions take in turn.
pub const RATES_HZ: [f64; 4] = [15.0, 30.0, 50.0, 100.0];
pub const JOINTS: [usize; 3] = [6, 7, 12];

/// A healthy session of its own kind for every seed.
pub fn sound(seed: u64, episodes: u64) -> Recipe {
    let (rate, joints) = (RATES_HZ[seed as usize % 4], JOINTS[seed as usize % 3]);
    healthy(rate, joints, StoredUnit::Deg, episodes, seed)
}

/// Adds an episode to a ledger.
pub fn push(ledger: &mut Ledger, episode: &Episode) {
    push_with(ledger, episode, &[]);
}

/// Adds an episode with some readings.
pub fn push_with(ledger: &mut Ledger, episode: &Episode, readings: &[Reading]) {
    let sketch = Sketch::of(episode);
    let row = Row {
        frames: episode.frames(),
        duration_s: episode.duration_s(),
        task: episode.key.task.as_ref(),
        motion: Some(sketch.motion()),
    };
    ledger.push(row, readings);
}

/// The session's ledger, with every recording as `change` leaves it.
pub fn ledger(
    recipe: &Recipe,
    mut change: impl FnMut(u64, Recording) -> Recording,
) -> Result<Ledger, DemoError> {
    let simulator = Simulator::new(recipe)?;
    let rig = Arc::new(recipe.rig());
    let mut ledger = Ledger::default();
    for id in 0..recipe.episodes {
        push(&mut ledger, &change(id, simulator.episode(id)).episode(&rig));
    }
    Ok(ledger)
}

/// What a check says of a ledger.
pub fn read(check: &Check, ledger: &Ledger) -> CohortSheet<'static> {
    let mut sheet = CohortSheet::default();
    check.measure_session(ledger, &Params::default(), &mut sheet);
    sheet
}

/// Rows with a value above `limit` in the measurement with this name.
pub fn above(sheet: &CohortSheet, metric: &str, limit: f64) -> Vec<usize> {
    let told = sheet.episodes.iter().filter(|e| e.1.metric.id == metric && e.1.value > limit);
    told.map(|e| e.0).collect()
}
