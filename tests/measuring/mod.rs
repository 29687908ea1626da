//! What the checks read on the simulated rig: healthy data stays quiet, planted truth comes out.

mod healthy;
mod planted;

use std::sync::Arc;

use teleassay::check::{CHECKS, Params, Study};
use teleassay::demo::{DemoError, Recipe, Recording, Simulator};
use teleassay::model::{Reading, Rig, Sheet};

/// All that the checks say of one recording.
pub struct Card {
    pub readings: Vec<Reading>,
}

impl Card {
    pub fn of(recording: &Recording, rig: &Arc<Rig>) -> Self {
        let episode = recording.episode(rig);
        let study = Study::new(&episode);
        let mut readings = Vec::new();
        for check in CHECKS {
            let mut sheet = Sheet::new(check.spec());
            check.measure(&study, &Params::default(), &mut sheet);
            readings.extend(sheet.into_parts().0);
        }
        Self { readings }
    }

    pub fn value(&self, metric: &str, joint: Option<u16>) -> Option<f64> {
        let wanted = |r: &&Reading| r.metric.id == metric && r.joint == joint;
        self.readings.iter().find(wanted).map(|r| r.value)
    }
}

/// A card for each episode of a recipe, with the truth beside it.
pub fn cards(recipe: &Recipe) -> Result<Vec<(Recording, Card)>, DemoError> {
    let rig = Arc::new(recipe.rig());
    let simulator = Simulator::new(recipe)?;
    let card = |recording: Recording| {
        let card = Card::of(&recording, &rig);
        (recording, card)
    };
    Ok(simulator.episodes().map(card).collect())
}
