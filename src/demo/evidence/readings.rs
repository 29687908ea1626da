//! What the encoders and the bus hand out.

use super::super::{Fault, Recipe, simulate};
use super::{Outcome, pair, range_deg, steps};

const COUNT_RAD: f64 = std::f64::consts::TAU / 4096.0;

#[test]
fn every_reading_is_a_whole_number_of_counts() -> Outcome {
    let (clean, _) = pair(Fault::CutShort, None)?;
    for value in clean.leader.iter().chain(&clean.follower).flatten() {
        let counts = value / COUNT_RAD;
        assert!((counts - counts.round()).abs() < 1e-6);
    }
    Ok(())
}

#[test]
fn missing_values_come_in_runs() -> Outcome {
    let (_, faulty) = pair(Fault::MissingValues { share: 0.02, run: 4 }, Some("wrist_pitch"))?;
    let answer = &faulty.truth.answers[0];
    let missing = faulty.follower[3].iter().filter(|v| v.is_nan()).count();
    assert!(missing == answer.count && missing == 4 * answer.frames.len());
    for [start, end] in &answer.frames {
        assert!(end - start == 4 && faulty.follower[3][*start..*end].iter().all(|v| v.is_nan()));
    }
    Ok(())
}

#[test]
fn spikes_go_out_and_back_in_one_frame() -> Outcome {
    let (clean, faulty) = pair(Fault::Spikes { count: 6, deg: 20.0 }, Some("elbow"))?;
    let off: Vec<f64> = (0..clean.frames())
        .map(|k| (faulty.follower[2][k] - clean.follower[2][k]).abs().to_degrees())
        .filter(|d| *d > 0.0)
        .collect();
    assert!(off.len() == 6 && off.iter().all(|d| (d - 20.0).abs() < 0.05));
    Ok(())
}

#[test]
fn a_stale_reading_is_bracketed_by_motion() -> Outcome {
    let (clean, faulty) = pair(Fault::StaleReadings { share: 0.02 }, Some("waist"))?;
    let answer = &faulty.truth.answers[0];
    assert!(answer.count >= 8 && answer.count == answer.frames.len());
    for [frame, _] in &answer.frames {
        let (s, k) = (&faulty.follower[0], *frame);
        assert_eq!(s[k], s[k - 1]);
        assert!((clean.follower[0][k] - s[k]).abs() > 2.9 * COUNT_RAD);
    }
    Ok(())
}

#[test]
fn a_frozen_side_stands_as_long_as_planted() -> Outcome {
    let (clean, follower) = pair(Fault::FrozenFollower { seconds: 0.8 }, None)?;
    let [start, end] = follower.truth.answers[0].frames[0];
    assert!((end - start).abs_diff(24) <= 1);
    assert!(follower.follower.iter().all(|c| range_deg(&c[start..end]) == 0.0));
    assert!(follower.leader == clean.leader);

    let (_, leader) = pair(Fault::FrozenLeader { seconds: 2.5 }, None)?;
    let [start, end] = leader.truth.answers[0].frames[0];
    assert!((end - start).abs_diff(75) <= 1);
    assert!(leader.leader.iter().all(|c| range_deg(&c[start..end]) == 0.0));
    let settled = |c: &Vec<f64>| range_deg(&c[start + 20..end]);
    assert!(leader.follower.iter().map(settled).fold(0.0, f64::max) < 0.3);
    Ok(())
}

#[test]
fn a_zero_in_the_work_range_makes_the_reading_jump_by_a_turn() -> Outcome {
    let (_, faulty) = pair(Fault::EncoderWrap, Some("waist"))?;
    let jumps = steps(&faulty.follower[0]).into_iter().filter(|d| d.abs() > 3.0).count();
    assert!(jumps >= 2 && jumps == faulty.truth.answers[0].count);
    Ok(())
}

#[test]
fn exchanged_and_inverted_columns_are_just_that() -> Outcome {
    let swap = Fault::SwappedJoints { with: "elbow".into() };
    let (clean, swapped) = pair(swap, Some("shoulder"))?;
    assert!(clean.follower[1] == swapped.follower[2] && clean.follower[2] == swapped.follower[1]);
    let (clean, unused) = pair(Fault::UnusedJoint, Some("elbow"))?;
    assert!(unused.follower[2].iter().chain(&unused.leader[2]).all(|v| *v == unused.leader[2][0]));
    assert!(clean.follower[1] == unused.follower[1]);
    let (clean, flipped) = pair(Fault::SignFlip, Some("waist"))?;
    assert!(clean.follower[0].iter().zip(&flipped.follower[0]).all(|(a, b)| *a == -b));
    Ok(())
}

#[test]
fn a_duplicate_is_the_other_to_the_last_bit() -> Outcome {
    let recipe = Recipe { episodes: 4, ..Recipe::default() };
    let all = simulate(&recipe.with(Fault::DuplicateEpisode { of: 1 }, None, &[3]))?;
    assert!(all[3].follower == all[1].follower && all[3].time_s == all[1].time_s);
    assert_eq!((all[3].id, all[3].truth.answers.len()), (3, 1));
    Ok(())
}
