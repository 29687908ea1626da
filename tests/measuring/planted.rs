//! Planted truth: what the simulated rig did to the data is what the checks read.

use super::cards;
use teleassay::demo::{DemoError, StoredUnit, healthy};

/// Servo lag is the dead time, the hold and the time constant of the simulated joint, not a shift
/// of arrays. Without play, which looks like lag (domain fact; 6 ms for 0.9 degrees at 30), and
/// away from the speed limit, slow motion is late by their sum.
#[test]
fn lag_is_read_within_three_milliseconds() -> Result<(), DemoError> {
    let mut sizes_ms: Vec<f64> = Vec::new();
    for rate_hz in [25.0, 30.0, 50.0, 100.0, 200.0] {
        let mut recipe = healthy(rate_hz, 6, StoredUnit::Deg, 40, 5);
        recipe.servo.backlash_deg = 0.0;
        recipe.servo.speed_limit_deg_s = 1000.0;
        recipe.servo.acceleration_limit_deg_s2 = None;
        let cards = cards(&recipe)?;
        for (recording, card) in &cards {
            for (joint, truth) in recording.truth.joints.iter().enumerate() {
                if let Some(lag_s) = card.value("lag", Some(joint as u16)) {
                    sizes_ms.push((lag_s - truth.lag_s).abs() * 1e3);
                }
            }
        }
    }
    sizes_ms.sort_by(f64::total_cmp);
    let p95 = sizes_ms[sizes_ms.len() * 95 / 100];
    assert!(sizes_ms.len() > 500, "only {} lags", sizes_ms.len());
    assert!(p95 <= 3.0, "95 % of {} lags are within {p95:.2} ms of the truth", sizes_ms.len());
    Ok(())
}
