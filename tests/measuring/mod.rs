//! What the checks read on the simulated rig: healthy data stays quiet, planted truth comes out.

mod action_kinds;
mod contact;
mod generator;
mod hard_cases;
mod hard_signals;
mod healthy;
mod healthy_sessions;
mod mapping;
mod planted;
mod pooled;
mod rates;
mod signals;
mod stopped;
mod two_arms;

use std::sync::Arc;

use teleassay::catalogue::of_episodes;
use teleassay::check::{Params, Study, settings};
use teleassay::demo::{DemoError, Recipe, Recording, Simulator};
use teleassay::judge::{Limits, findings, suppress};
use teleassay::model::{Finding, Reading, Rig, Sheet};

/// All that the checks say of one recording.
pub struct Card {
    pub readings: Vec<Reading>,
    pub findings: Vec<Finding>,
}

impl Card {
    pub fn of(recording: &Recording, rig: &Arc<Rig>) -> Self {
        let episode = recording.episode(rig);
        let study = Study::new(&episode, settings(&Params::default()));
        let mut readings = Vec::new();
        for check in of_episodes() {
            let mut sheet = Sheet::new(check.spec());
            check.measure(&study, &Params::default(), &mut sheet);
            readings.extend(sheet.into_parts().0);
        }
        let mut findings = findings(&readings, &Limits::default());
        suppress(&mut findings);
        Self { readings, findings }
    }

    pub fn value(&self, metric: &str, joint: Option<u16>) -> Option<f64> {
        let wanted = |r: &&Reading| r.metric.id == metric && r.joint == joint;
        self.readings.iter().find(wanted).map(|r| r.value)
    }

    /// The findings as a person would tell them to another.
    pub fn reported(&self, rig: &Rig) -> Vec<String> {
        let tell = |f: &Finding| {
            let joint = f.joint.map_or("", |j| rig.joint_name(j));
            format!("{:?} {} {joint} {:.4}", f.severity, f.metric.id, f.value)
        };
        self.findings.iter().map(tell).collect()
    }
}

/// The rig, and a card for each episode with its truth.
type Cards = (Arc<Rig>, Vec<(Recording, Card)>);

/// A card for each episode of a recipe.
pub fn cards(recipe: &Recipe) -> Result<Cards, DemoError> {
    let rig = Arc::new(recipe.rig());
    let simulator = Simulator::new(recipe)?;
    let card = |recording: Recording| {
        let card = Card::of(&recording, &rig);
        (recording, card)
    };
    let cards = simulator.episodes().map(card).collect();
    Ok((rig, cards))
}
