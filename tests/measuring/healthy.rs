//! False alarms: at most one healthy episode in two hundred may fail, three in a hundred warn, with
//! every check running, those of the session too; and a healthy session has no finding of its own.

use std::error::Error;
use std::sync::Arc;

use crate::support::measured::audit;
use crate::support::memory::Memory;
use teleassay::demo::{StoredUnit, healthy, simulate};
use teleassay::model::{Episode, Finding, Rig, Scorecard, Verdict};

/// The findings as a person would tell them to another.
fn reported(card: &Scorecard, rig: &Rig) -> String {
    let tell = |f: &Finding| {
        let joint = f.joint.map_or("", |j| rig.joint_name(j));
        format!("{:?} {} {joint} {:.4} {}", f.severity, f.metric.id, f.value, f.note)
    };
    let found: Vec<String> = card.findings.iter().map(tell).collect();
    format!("{}: {}", card.key.id, found.join("; "))
}

fn quiet(rate_hz: f64) -> Result<(), Box<dyn Error>> {
    let units = [StoredUnit::Deg, StoredUnit::Rad];
    for (joints, unit) in [6usize, 8].into_iter().flat_map(|j| units.map(|u| (j, u))) {
        let recipe = healthy(rate_hz, joints, unit, 200, 11 + joints as u64);
        let recordings = simulate(&recipe)?;
        let rig = Arc::new(recipe.surveyed_rig(&recordings));
        let episodes: Vec<Episode> = recordings.iter().map(|r| r.episode(&rig)).collect();
        drop(recordings);
        let outcome = audit(&Memory::new(&rig, &episodes, 50), 2)?;
        let counts = outcome.session.counts;
        assert_eq!(counts.pass + counts.warn + counts.fail, 200);
        let bad = outcome.cards.iter().filter(|card| card.verdict != Verdict::Pass);
        let reported: Vec<String> = bad.map(|card| reported(card, &rig)).collect();
        let what = format!("{rate_hz} Hz, {joints} joints: {counts:?}\n{}", reported.join("\n"));
        assert!(counts.fail <= 1 && counts.warn <= 6, "{what}");
        assert!(outcome.session.findings.is_empty(), "{:?}", outcome.session.findings);
        // Suppress must not come from not looking: lag is read on most joints of most episodes.
        let readings = outcome.cards.iter().flat_map(|card| &card.readings);
        assert!(readings.filter(|r| r.metric.id == "lag").count() > 200 * 2, "{what}");
    }
    Ok(())
}

#[test]
fn at_25_hz() -> Result<(), Box<dyn Error>> {
    quiet(25.0)
}

#[test]
fn at_30_hz() -> Result<(), Box<dyn Error>> {
    quiet(30.0)
}

#[test]
fn at_50_hz() -> Result<(), Box<dyn Error>> {
    quiet(50.0)
}

#[test]
fn at_100_hz() -> Result<(), Box<dyn Error>> {
    quiet(100.0)
}

#[test]
fn at_200_hz() -> Result<(), Box<dyn Error>> {
    quiet(200.0)
}
