//! Right readings in wrong columns, units and numbers.

use super::super::{Fault, Recipe, StoredUnit, simulate};
use super::{Outcome, pair};

const COUNT_RAD: f64 = std::f64::consts::TAU / 4096.0;

#[test]
fn rounded_positions_lie_on_the_planted_grid() -> Outcome {
    let (_, faulty) = pair(Fault::CoarseQuantisation { deg: 0.65 }, None)?;
    let steps = |v: &f64| v.to_degrees() / 0.65;
    let off = |v: &f64| (steps(v) - steps(v).round()).abs() < 1e-6;
    assert!(faulty.leader.iter().chain(&faulty.follower).flatten().all(off));
    Ok(())
}

#[test]
fn negative_counts_lose_their_sign_as_the_servo_would_lose_it() -> Outcome {
    for weight in [2048.0, 32_768.0, 65_536.0] {
        let sound = Recipe { seed: 11, unit: StoredUnit::Counts, ..Recipe::default() };
        let clean = simulate(&sound)?.remove(0);
        let faulty =
            simulate(&sound.with(Fault::DecodeError { weight }, Some("waist"), &[]))?.remove(0);
        let mut misread = 0;
        for (before, after) in clean.follower[0].iter().zip(&faulty.follower[0]) {
            let (before, after) = ((before / COUNT_RAD).round(), (after / COUNT_RAD).round());
            if before >= 0.0 {
                assert_eq!(before, after);
                continue;
            }
            misread += 1;
            // What a sign bit leaves in a register, and what two's complement does.
            let bits = before.abs() as i64;
            let read = if weight > 65_535.0 { 65_536 - bits } else { weight as i64 + bits };
            assert_eq!(after as i64, read);
        }
        assert!(misread > 20 && misread == faulty.truth.answers[0].count);
    }
    Ok(())
}

#[test]
fn columns_exchanged_scaled_and_copied_are_just_that() -> Outcome {
    let (clean, swapped) = pair(Fault::SwappedArms, None)?;
    assert!(clean.leader == swapped.follower && clean.follower == swapped.leader);
    let (clean, scaled) = pair(Fault::UnitMismatch { factor: 57.3 }, Some("elbow"))?;
    let both = clean.follower[2].iter().zip(&scaled.follower[2]);
    assert!(both.into_iter().all(|(a, b)| (a * 57.3 - b).abs() < 1e-9));
    let (clean, copied) = pair(Fault::ActionIsState, None)?;
    assert!(copied.leader == clean.follower && copied.follower == clean.follower);
    let (clean, next) = pair(Fault::ActionIsNextState, None)?;
    let last = clean.frames() - 1;
    for joint in 0..6 {
        assert!(next.leader[joint][..last] == clean.follower[joint][1..]);
    }
    Ok(())
}
