//! Two arms in one table: quiet when both are sound, and what affects one of them is reported for it.

use std::sync::Arc;

use teleassay::catalogue::find;
use teleassay::check::{Params, Study, settings};
use teleassay::demo::{DemoError, StoredUnit, healthy, simulate};
use teleassay::judge::{Limits, findings};
use teleassay::model::{Channels, Episode, Finding, Rig, Sheet};

const RATES_HZ: [f64; 4] = [25.0, 30.0, 50.0, 200.0];
const CHECKS: [&str; 4] = ["two-arm-consistency", "arm-swap", "joint-swap", "sign-flip"];

fn sessions(episodes: u64) -> Result<Vec<(f64, Vec<Episode>)>, DemoError> {
    let mut all = Vec::new();
    for (n, rate_hz) in RATES_HZ.into_iter().enumerate() {
        let joints = [12, 14, 16][n % 3];
        let recipe = healthy(rate_hz, joints, StoredUnit::Rad, episodes, 70 + n as u64);
        let rig = Arc::new(recipe.rig());
        let recordings = simulate(&recipe)?;
        all.push((rate_hz, recordings.iter().map(|r| r.episode(&rig)).collect()));
    }
    Ok(all)
}

fn complaints(episode: &Episode) -> Vec<Finding> {
    let study = Study::new(episode, settings(&Params::default()));
    let mut readings = Vec::new();
    for check in CHECKS.iter().filter_map(|id| find(id)) {
        let mut sheet = Sheet::new(check.spec());
        check.measure(&study, &Params::default(), &mut sheet);
        readings.extend(sheet.into_parts().0);
    }
    findings(&readings, &Limits::default())
}

fn reported(episode: &Episode) -> Vec<String> {
    let tell = |f: Finding| format!("{} {:.2} {}", f.metric.id, f.value, f.note);
    complaints(episode).into_iter().map(tell).collect()
}

/// The channels with each joint's values made again from its place and what it was.
fn changed(channels: &Channels, change: impl Fn(usize) -> Vec<f32>) -> Channels {
    let values = (0..channels.joints()).flat_map(change).collect();
    Channels::new(values, channels.frames(), channels.joints())
}

fn right(rig: &Rig) -> Vec<usize> {
    rig.arms().into_iter().find(|(name, _)| *name == "right").map_or(Vec::new(), |(_, j)| j)
}

#[test]
fn two_sound_arms_stay_quiet() -> Result<(), DemoError> {
    for (rate_hz, episodes) in sessions(30)? {
        let all: Vec<String> = episodes.iter().flat_map(reported).collect();
        assert!(all.is_empty(), "{rate_hz} Hz: {all:?}");
    }
    Ok(())
}

#[test]
fn one_arm_later_than_the_other_warns() -> Result<(), DemoError> {
    for (rate_hz, episodes) in sessions(6)? {
        let rows = (0.08 * rate_hz).round() as usize;
        for mut episode in episodes {
            let late = right(&episode.rig);
            let state = &episode.state;
            let shift = |joint: usize| {
                let own = state.joint(joint);
                let by = if late.contains(&joint) { rows } else { 0 };
                (0..own.len()).map(|row| own[row.saturating_sub(by)]).collect()
            };
            episode.state = changed(state, shift);
            let found = complaints(&episode);
            let gap = found.iter().find(|f| f.metric.id == "lag_gap_frames");
            let frames = rows as f64 / rate_hz / (1.0 / rate_hz).max(0.015);
            let value = gap.map_or(f64::NAN, |f| f.value);
            assert!((value - frames).abs() < 1.0, "{rate_hz} Hz: {value} for {frames}");
        }
    }
    Ok(())
}

#[test]
fn an_arm_written_twice_fails_and_one_swapped_is_named() -> Result<(), DemoError> {
    for (rate_hz, episodes) in sessions(2)? {
        for episode in episodes {
            let second = right(&episode.rig);
            let first = second.len();
            let source = |joint: usize| if joint >= first { joint - first } else { joint };
            let mut twice = episode.clone();
            twice.state = changed(&episode.state, |j| episode.state.joint(source(j)).to_vec());
            let found = reported(&twice);
            assert!(found.iter().any(|f| f.starts_with("copied_joints")), "{rate_hz}: {found:?}");
            let Some(action) = &episode.action else { continue };
            let mut swapped = episode.clone();
            let of = |one: &Channels, other: &Channels| {
                changed(one, |j| if second.contains(&j) { other } else { one }.joint(j).to_vec())
            };
            swapped.state = of(&episode.state, action);
            swapped.action = Some(of(action, &episode.state));
            let found = reported(&swapped);
            let named =
                found.iter().any(|f| f.starts_with("leader_behind") && f.ends_with("arm right"));
            assert!(named, "{rate_hz} Hz: {found:?}");
        }
    }
    Ok(())
}
