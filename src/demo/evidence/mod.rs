//! Evidence that what is planted is in the data, by arithmetic that no check uses, and that what
//! is called healthy looks like a sound rig.

mod columns;
mod disturbance;
mod follower;
mod hand;
mod healthy;
mod readings;
mod timing;

use super::{DemoError, Fault, Recipe, Recording, simulate};

type Outcome = Result<(), Box<dyn std::error::Error>>;

/// The same episode without and with a fault: the hand does the same in both.
fn pair(fault: Fault, joint: Option<&str>) -> Result<(Recording, Recording), DemoError> {
    let recipe = Recipe { seed: 11, ..Recipe::default() };
    let clean = simulate(&recipe)?.remove(0);
    let faulty = simulate(&recipe.with(fault, joint, &[]))?.remove(0);
    assert_eq!(faulty.truth.answers.len(), 1, "one fault, one answer");
    Ok((clean, faulty))
}

/// Largest minus smallest value, in degrees; `NaN` is passed over.
fn range_deg(values: &[f64]) -> f64 {
    let high = values.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let low = values.iter().copied().fold(f64::INFINITY, f64::min);
    (high - low).to_degrees()
}

/// The value below which a share of the values lies (nearest rank).
fn quantile(values: impl IntoIterator<Item = f64>, share: f64) -> f64 {
    let mut sorted: Vec<f64> = values.into_iter().collect();
    sorted.sort_by(f64::total_cmp);
    sorted[((sorted.len() - 1) as f64 * share).round() as usize]
}

/// Steps between neighbours.
fn steps(values: &[f64]) -> Vec<f64> {
    values.windows(2).map(|w| w[1] - w[0]).collect()
}

#[test]
fn the_same_seed_gives_the_same_recording_and_another_seed_another() -> Outcome {
    let recipe = Recipe { episodes: 3, ..Recipe::default() };
    let all = simulate(&recipe)?;
    assert_eq!(all, simulate(&recipe)?);
    assert_eq!(all[2], super::Simulator::new(&recipe)?.episode(2), "episodes need no order");
    assert_ne!(all[0].leader, all[1].leader);
    assert_ne!(all[0].leader, simulate(&Recipe { seed: 2, ..recipe })?[0].leader);
    Ok(())
}

#[test]
fn a_recipe_survives_its_file_and_a_wrong_one_is_refused() -> Outcome {
    let nursery = Recipe::nursery();
    assert_eq!(serde_json::from_str::<Recipe>(&serde_json::to_string(&nursery)?)?, nursery);
    assert_eq!(toml::from_str::<Recipe>(&toml::to_string(&nursery)?)?, nursery);
    assert!(serde_json::from_str::<Recipe>(r#"{"sed": 1}"#).is_err());
    let wrong = [
        Recipe { joints: 5, ..Recipe::default() },
        Recipe { rate_hz: 0.0, ..Recipe::default() },
        Recipe::default().with(Fault::DeadJoint, None, &[]),
        Recipe::default().with(Fault::DeadJoint, Some("knee"), &[]),
        Recipe::default().with(Fault::CutShort, None, &[7]),
        Recipe::default().with(Fault::DuplicateEpisode { of: 0 }, None, &[]),
    ];
    for recipe in wrong {
        assert!(simulate(&recipe).is_err(), "{recipe:?}");
    }
    Ok(())
}

#[test]
fn the_nursery_has_one_fault_for_each_check_that_looks_at_an_episode() -> Outcome {
    let all = simulate(&Recipe::nursery())?;
    let found: Vec<&str> =
        all.iter().flat_map(|r| r.truth.answers.iter().map(|a| a.check)).collect();
    let expected = [
        "dropped-frames",
        "repeated-frames",
        "timestamp-jitter",
        "non-monotonic-time",
        "missing-values",
        "limit-dwell",
        "dead-joint",
        "tracking-lag",
        "tracking-error",
        "outlier-episode",
    ];
    assert_eq!(found, expected);
    assert!(all.iter().all(|r| r.truth.answers.len() <= 1));
    Ok(())
}
