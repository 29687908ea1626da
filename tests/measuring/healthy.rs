//! False alarms: at most one healthy episode in two hundred may fail, three in a hundred warn.

use super::cards;
use teleassay::demo::{DemoError, StoredUnit, healthy};
use teleassay::model::Verdict;

fn quiet(rate_hz: f64) -> Result<(), DemoError> {
    let units = [StoredUnit::Deg, StoredUnit::Rad];
    for (joints, unit) in [6usize, 8].into_iter().flat_map(|j| units.map(|u| (j, u))) {
        let recipe = healthy(rate_hz, joints, unit, 200, 11 + joints as u64);
        let (rig, cards) = cards(&recipe)?;
        assert_eq!(cards.len(), 200);
        let (mut fails, mut warns, mut told) = (0, 0, Vec::new());
        for (recording, card) in &cards {
            match Verdict::of(&card.findings) {
                Verdict::Pass => continue,
                Verdict::Warn => warns += 1,
                Verdict::Fail => fails += 1,
            }
            told.push(format!("{}: {}", recording.id, card.told(&rig).join("; ")));
        }
        let what = format!(
            "{rate_hz} Hz, {joints} joints: {fails} fail, {warns} warn\n{}",
            told.join("\n")
        );
        assert!(fails <= 1 && warns <= 6, "{what}");
        // Silence must not come from not looking: lag is read on most joints of most episodes.
        let lags =
            cards.iter().flat_map(|(_, card)| &card.readings).filter(|r| r.metric.id == "lag");
        assert!(lags.count() > 200 * 2, "{what}");
    }
    Ok(())
}

#[test]
fn at_25_hz() -> Result<(), DemoError> {
    quiet(25.0)
}

#[test]
fn at_30_hz() -> Result<(), DemoError> {
    quiet(30.0)
}

#[test]
fn at_50_hz() -> Result<(), DemoError> {
    quiet(50.0)
}

#[test]
fn at_100_hz() -> Result<(), DemoError> {
    quiet(100.0)
}

#[test]
fn at_200_hz() -> Result<(), DemoError> {
    quiet(200.0)
}
