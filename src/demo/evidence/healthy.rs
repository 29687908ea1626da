//! What is called healthy: realistic, and within the limits of a sound rig.

use std::sync::Arc;

use super::super::{Recipe, Recording, StoredUnit, healthy, simulate};
use super::{Outcome, quantile, range_deg, steps};

/// 95th percentile in degrees of follower, taken later by the true lag, minus leader, about its
/// median.
fn aligned_error_deg(recording: &Recording, joint: usize) -> f64 {
    let (moment_s, lag_s) = (&recording.truth.moment_s, recording.truth.joints[joint].lag_s);
    let (leader, follower) = (&recording.leader[joint], &recording.follower[joint]);
    let mut errors = Vec::with_capacity(moment_s.len());
    for (k, now) in moment_s.iter().enumerate() {
        let after = moment_s.partition_point(|t| *t <= now + lag_s);
        if after < moment_s.len() {
            let (a, b) = (moment_s[after - 1], moment_s[after]);
            let part = (now + lag_s - a) / (b - a);
            let position = follower[after - 1] + part * (follower[after] - follower[after - 1]);
            errors.push((position - leader[k]).to_degrees());
        }
    }
    let middle = quantile(errors.iter().copied(), 0.5);
    quantile(errors.iter().map(|e| (e - middle).abs()), 0.95)
}

#[test]
fn healthy_rigs_are_sound_at_every_rate() -> Outcome {
    for (rate_hz, joints) in [(25.0, 6), (30.0, 8), (50.0, 7), (100.0, 14), (200.0, 6)] {
        for seed in 0..6 {
            let recipe = healthy(rate_hz, joints, StoredUnit::Deg, 1, seed);
            let recording = simulate(&recipe)?.remove(0);
            let what = format!("{rate_hz} Hz, {joints} joints, seed {seed}");
            let period_s = 1.0 / rate_hz;
            let dt = steps(&recording.time_s);
            let median = quantile(dt.clone(), 0.5);
            let p95 = quantile(dt.iter().map(|d| (d - median).abs()), 0.95);
            assert!(p95 < 0.1 * period_s, "{what}: jitter {}", p95 / period_s);
            assert!(dt.iter().all(|d| *d > 0.0 && *d < 2.0 * period_s), "{what}: steps");
            let seconds = recording.time_s[recording.frames() - 1] - recording.time_s[0];
            assert!((7.0..30.0).contains(&seconds), "{what}: {seconds} s");
            for (joint, spec) in recipe.rig().joints.iter().enumerate() {
                let truth = &recording.truth.joints[joint];
                assert!(truth.lag_s < 0.12, "{what}: lag {}", truth.lag_s);
                let fastest = steps(&recording.follower[joint]).into_iter().zip(&dt);
                let fastest = fastest.map(|(s, d)| s.abs() / d).fold(0.0, f64::max).to_degrees();
                let noise = 2.5 * recipe.count_rad().to_degrees() * rate_hz;
                assert!(fastest < recipe.servo.speed_limit_deg_s + noise, "{what}: {fastest}");
                if !spec.gripper {
                    let error = aligned_error_deg(&recording, joint);
                    assert!(error < 3.0, "{what}: {} {error}", spec.name);
                    let [lower, upper] = truth.stops_rad;
                    let inside = |v: &f64| *v > lower && *v < upper;
                    assert!(recording.leader[joint].iter().all(inside), "{what}: {}", spec.name);
                }
            }
            assert!(range_deg(&recording.leader[0]) > 15.0, "{what}: the waist hardly moves");
        }
    }
    Ok(())
}

/// Rows of a sound follower repeat 26 to 50 % of the time while the leader stands: servo settled,
/// gears within their backlash (the project's own earlier simulation of a 12-bit arm at 30 and 50 Hz).
#[test]
fn a_standing_follower_often_repeats_its_row() -> Outcome {
    let mut shares = Vec::new();
    for seed in 0..12 {
        let recording = simulate(&healthy(30.0, 6, StoredUnit::Rad, 1, seed))?.remove(0);
        let still = |k: &usize| {
            let moved = |c: &Vec<f64>| (c[*k] - c[k - 1]).abs().to_degrees() * 30.0;
            recording.leader.iter().map(moved).fold(0.0, f64::max) < 5.0
        };
        let rest: Vec<usize> = (1..recording.frames()).filter(still).collect();
        let same = |k: &&usize| recording.follower.iter().all(|c| c[**k] == c[**k - 1]);
        shares.push(rest.iter().filter(same).count() as f64 / rest.len() as f64);
    }
    let middle = quantile(shares, 0.5);
    assert!((0.26..0.50).contains(&middle), "{middle}");
    Ok(())
}

#[test]
fn an_episode_without_a_file_holds_what_a_file_would() -> Outcome {
    for unit in [StoredUnit::Deg, StoredUnit::Rad, StoredUnit::Counts] {
        let recipe = Recipe { unit, ..Recipe::default() };
        let recordings = simulate(&recipe)?;
        let rig = Arc::new(recipe.surveyed_rig(&recordings));
        let episode = recordings[0].episode(&rig);
        let action = episode.action.ok_or("no leader")?;
        assert_eq!(episode.time_s, recordings[0].time_s);
        for joint in 0..6 {
            let pairs = episode.state.joint(joint).iter().zip(&recordings[0].follower[joint]);
            assert!(pairs.into_iter().all(|(a, b)| (f64::from(*a) - b).abs() < 1e-6));
            let pairs = action.joint(joint).iter().zip(&recordings[0].leader[joint]);
            assert!(pairs.into_iter().all(|(a, b)| (f64::from(*a) - b).abs() < 1e-6));
            let (low, high) = rig.joints[joint].observed.ok_or("not surveyed")?;
            assert!(
                (range_deg(&recordings[0].follower[joint]) - (high - low).to_degrees()).abs()
                    < 1e-9
            );
        }
    }
    Ok(())
}
