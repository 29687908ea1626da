//! False alarms by session: of healthy ones at most one in twenty has an episode called an outlier,
//! whatever its rate, joints, unit and hand.

use std::error::Error;
use std::sync::Arc;

use crate::support::measured::audit;
use crate::support::memory::Memory;
use teleassay::demo::{StoredUnit, healthy, simulate};
use teleassay::model::Episode;

const SESSIONS: usize = 100;

#[test]
fn one_healthy_session_in_twenty_has_an_outlier() -> Result<(), Box<dyn Error>> {
    let (mut reported, mut assessed) = (Vec::new(), 0);
    for turn in 0..SESSIONS {
        let rate_hz = [30.0, 50.0, 25.0, 100.0][turn % 4];
        let unit = [StoredUnit::Deg, StoredUnit::Rad][turn % 2];
        let episodes = [30, 60, 20][turn % 3];
        let recipe =
            healthy(rate_hz, [6, 7, 8][turn / 3 % 3], unit, episodes, 40_000 + turn as u64);
        let recordings = simulate(&recipe)?;
        let rig = Arc::new(recipe.surveyed_rig(&recordings));
        let episodes: Vec<Episode> = recordings.iter().map(|r| r.episode(&rig)).collect();
        let outcome = audit(&Memory::new(&rig, &episodes, episodes.len()), 2)?;
        let readings = || outcome.cards.iter().flat_map(|card| &card.readings);
        assessed += usize::from(readings().any(|r| r.metric.id == "outlier_distance"));
        let odd = readings().filter(|r| r.metric.id == "outlier_distance" && r.value > 1.0);
        let distances: Vec<f64> = odd.map(|reading| reading.value).collect();
        if !distances.is_empty() {
            reported.push(format!("{turn}, {} episodes: {distances:.2?}", episodes.len()));
        }
    }
    assert_eq!(assessed, SESSIONS);
    assert!(reported.len() * 20 <= SESSIONS, "{} sessions: {reported:#?}", reported.len());
    Ok(())
}
