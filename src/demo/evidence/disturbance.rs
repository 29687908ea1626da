//! What the hand and the servos do besides.

use super::super::{Fault, Recipe, simulate};
use super::{Outcome, pair, quantile, range_deg};

const ELBOW: usize = 2;

#[test]
fn the_hand_reaches_past_the_stop_and_comes_back() -> Outcome {
    let fault = Fault::Overreach { push_deg: 8.0, seconds: 1.0 };
    let (_, faulty) = pair(fault, Some("elbow"))?;
    let [lower, upper] = faulty.truth.joints[ELBOW].stops_rad;
    let past = |v: &f64| (v - upper).max(lower - v).to_degrees();
    let [start, end] = faulty.truth.answers[0].frames[0];
    assert!((end - start).abs_diff(30) <= 2);
    assert!(faulty.leader[ELBOW][start + 1..end - 1].iter().all(|v| (past(v) - 8.0).abs() < 1.0));
    assert!(faulty.follower[ELBOW].iter().all(|v| past(v) < 0.15), "the stop yields");
    Ok(())
}

#[test]
fn a_hand_in_a_hurry_is_as_fast_as_planted_and_a_broken_take_as_short() -> Outcome {
    let (clean, faulty) = pair(Fault::FastHand { deg_s: 260.0 }, None)?;
    let fastest = |recording: &super::Recording| {
        let speeds =
            recording.leader.iter().flat_map(|c| c.windows(2).map(|w| (w[1] - w[0]).abs()));
        quantile(speeds, 1.0).to_degrees() * 30.0
    };
    assert!((fastest(&faulty) - 260.0).abs() < 30.0, "{}", fastest(&faulty));
    assert!(fastest(&clean) < 150.0);
    let (_, broken) = pair(Fault::Aborted { seconds: 0.6 }, None)?;
    assert_eq!(broken.frames(), 19);
    Ok(())
}

#[test]
fn searching_goes_round_and_a_sticky_joint_goes_in_jumps() -> Outcome {
    let path = |c: &Vec<f64>| c.windows(2).map(|w| (w[1] - w[0]).abs()).sum::<f64>();
    let (clean, searching) = pair(Fault::Searching { deg: 3.0 }, None)?;
    assert!(path(&searching.leader[0]) > 1.2 * path(&clean.leader[0]));
    let (clean, sticky) = pair(Fault::StickSlip { deg: 2.0 }, Some("elbow"))?;
    let still = |c: &Vec<f64>| c.windows(2).filter(|w| w[0] == w[1]).count();
    assert!(still(&sticky.leader[ELBOW]) > still(&clean.leader[ELBOW]) + 50);
    let off = sticky.leader[ELBOW].iter().zip(&clean.leader[ELBOW]).map(|(a, b)| (a - b).abs());
    assert!(quantile(off, 1.0).to_degrees() < 2.2);
    Ok(())
}

#[test]
fn a_clutch_jumps_once() -> Outcome {
    let (clean, faulty) = pair(Fault::Clutch { deg_s: 1050.0 }, Some("waist"))?;
    let off: Vec<f64> = faulty.leader[0].iter().zip(&clean.leader[0]).map(|(a, b)| a - b).collect();
    let jumps: Vec<f64> =
        off.windows(2).map(|w| (w[1] - w[0]).abs().to_degrees()).filter(|d| *d > 0.2).collect();
    assert!(jumps.len() == 1 && (jumps[0] - 35.0).abs() < 0.2, "{jumps:?}");
    Ok(())
}

#[test]
fn a_servo_hunts_where_the_hand_rests() -> Outcome {
    let mut recipe = Recipe { seed: 11, ..Recipe::default() };
    recipe.operator.dwell_s = [1.5, 2.0];
    let clean = simulate(&recipe)?.remove(0);
    let hunting = recipe.with(Fault::Hunting { deg: 2.0, hertz: 5.0 }, Some("elbow"), &[]);
    let faulty = simulate(&hunting)?.remove(0);
    let off: Vec<f64> =
        faulty.follower[ELBOW].iter().zip(&clean.follower[ELBOW]).map(|(a, b)| a - b).collect();
    assert!((range_deg(&off) - 2.0).abs() < 0.2, "{}", range_deg(&off));
    assert!(clean.follower[0] == faulty.follower[0], "the other joints do not");
    Ok(())
}

#[test]
fn play_load_and_a_tired_bus_are_of_the_planted_size() -> Outcome {
    let (_, worn) = pair(Fault::Backlash { deg: 2.25 }, Some("elbow"))?;
    assert!((worn.truth.joints[ELBOW].backlash_rad.to_degrees() - 2.25).abs() < 1e-9);
    let (clean, pulled) = pair(Fault::LoadSurges { deg: 6.0 }, Some("elbow"))?;
    let both = pulled.follower[ELBOW].iter().zip(&clean.follower[ELBOW]);
    let off = quantile(both.map(|(a, b)| (a - b).abs()), 0.95).to_degrees();
    assert!((off - 6.0).abs() < 1.2, "{off}");
    // Late by 200 ms in the end: the follower comes home as much later than without.
    let (clean, tired) = pair(Fault::LagDrift { ms: 200.0 }, None)?;
    let error = |r: &super::Recording, k: usize| (r.follower[0][k] - clean.follower[0][k]).abs();
    let third = clean.frames() / 5;
    let mean = |from: usize| (from..from + third).map(|k| error(&tired, k)).sum::<f64>();
    assert!(mean(3 * third) > 1.8 * mean(third), "{} {}", mean(third), mean(3 * third));
    Ok(())
}

/// On a ramp a first-order servo trails by dead time, hold and time constant.
#[test]
fn the_trail_on_a_ramp_is_nearly_the_sum_of_the_delays() -> Outcome {
    for (rate_hz, most_s) in [(25.0, 0.004), (100.0, 0.002), (200.0, 0.0015)] {
        let recording = simulate(&Recipe { rate_hz, ..Recipe::default() })?.remove(0);
        for truth in &recording.truth.joints {
            let off = (truth.trail_s - truth.lag_s).abs();
            assert!(off < most_s, "{rate_hz} Hz, {}: {off}", truth.joint);
        }
    }
    Ok(())
}
