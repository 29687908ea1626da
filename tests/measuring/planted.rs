//! Planted truth: what the simulated rig did to the data is what the checks read.

use super::cards;
use teleassay::demo::{DemoError, StoredUnit, healthy};

/// Servo lag is the dead time, the hold and the time constant of the simulated joint, not a shift
/// of arrays. Without backlash, which looks like lag (domain fact; 6 ms for 0.9 degrees at 30), and
/// away from the speed limit, slow motion is late by their sum.
#[test]
fn lag_is_read_within_three_milliseconds() -> Result<(), DemoError> {
    let mut sizes_ms: Vec<f64> = Vec::new();
    for rate_hz in [25.0, 30.0, 50.0, 100.0, 200.0] {
        let mut recipe = healthy(rate_hz, 6, StoredUnit::Deg, 40, 5);
        recipe.servo.backlash_deg = 0.0;
        recipe.servo.speed_limit_deg_s = 1000.0;
        recipe.servo.acceleration_limit_deg_s2 = None;
        let (_, cards) = cards(&recipe)?;
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

/// The same with backlash of 0.5 to 0.9 degrees in every joint, as sound rigs have it: it is distinguished from
/// lag where a joint moves by 20 degrees and more.
#[test]
fn backlash_is_distinguished_from_lag() -> Result<(), DemoError> {
    let (mut lags_ms, mut plays_deg) = (Vec::new(), Vec::new());
    for (rate_hz, seed) in [25.0, 30.0, 50.0, 100.0, 200.0].into_iter().zip(40..) {
        for joints in [6, 8] {
            let (_, cards) = cards(&healthy(rate_hz, joints, StoredUnit::Deg, 20, seed))?;
            for (recording, card) in &cards {
                for (joint, truth) in recording.truth.joints.iter().enumerate() {
                    let read = |metric: &str| card.value(metric, Some(joint as u16));
                    let moved = read("leader_range").is_some_and(|r| r.to_degrees() >= 20.0);
                    if let (true, Some(lag_s), Some(play)) =
                        (moved, read("lag_without_play"), read("play"))
                    {
                        lags_ms.push((lag_s - truth.lag_s).abs() * 1e3);
                        plays_deg.push((play - truth.backlash_rad).abs().to_degrees());
                    }
                }
            }
        }
    }
    lags_ms.sort_by(f64::total_cmp);
    plays_deg.sort_by(f64::total_cmp);
    let at = lags_ms.len() * 95 / 100;
    assert!(lags_ms.len() > 500, "only {} lags", lags_ms.len());
    assert!(lags_ms[at] <= 3.0, "95 % of {} lags within {:.2} ms", lags_ms.len(), lags_ms[at]);
    assert!(plays_deg[at] <= 0.2, "95 % of plays within {:.2} degrees", plays_deg[at]);
    Ok(())
}
