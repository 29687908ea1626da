//! Every check, and every reading, of a dataset in memory.

use std::collections::BTreeMap;
use std::error::Error;

use teleassay::engine::{self, Plan, Workers};
use teleassay::model::{Outcome, Rig};
use teleassay::source::Source;

/// Runs every check.
pub fn audit(source: &dyn Source, threads: usize) -> Result<Outcome, Box<dyn Error>> {
    let plan = Plan { keep_readings: true, ..Plan::default() };
    Ok(engine::audit(source, &plan, &Workers::start(Some(threads))?, &mut |_| {}))
}

/// Every reading by episode, check, metric and joint.
pub type Readings = BTreeMap<(String, &'static str, &'static str, String), f64>;

/// The readings of an outcome, joints by their names.
pub fn readings(outcome: &Outcome, rig: &Rig) -> Readings {
    let mut all = Readings::new();
    for card in &outcome.cards {
        for reading in &card.readings {
            let joint = reading.joint.map_or("", |joint| rig.joint_name(joint)).to_owned();
            let key = (card.key.id.clone(), reading.check.id, reading.metric.id, joint);
            assert!(all.insert(key, reading.value).is_none(), "read twice: {reading:?}");
        }
    }
    all
}
