//! What stops a session that is watched: never a sound rig, and a planted fault early. The state
//! machine is driven directly, episode by episode.

use std::error::Error;
use std::f64::consts::PI;
use std::sync::Arc;

use super::generator::{Clock, Draw, Rows, Style};
use crate::support::binary::Tested;
use crate::support::memory::Memory;
use teleassay::app::{Change, Last};
use teleassay::demo::{Fault, Recipe, StoredUnit, healthy, simulate};
use teleassay::engine::{self, Plan};
use teleassay::model::{Episode, SessionFinding};
use teleassay::source::Source;

/// Every stop of a session, with the number of episodes before it.
fn stops(source: &dyn Source) -> Vec<(usize, SessionFinding)> {
    let plan = Plan { keep_readings: true, ..Plan::default() };
    let (episodes, unread) = engine::landed(source, &plan);
    assert!(unread.is_empty(), "{unread:?}");
    let (mut last, mut found) = (Last::default(), Vec::new());
    for (at, one) in episodes.into_iter().enumerate() {
        let (_, changes) = last.add(one.card, &plan.limits);
        found.extend(changes.into_iter().filter_map(|change| match change {
            Change::Stop(finding) => Some((at + 1, finding)),
            _ => None,
        }));
    }
    found
}

fn simulated(recipe: &Recipe) -> Result<Vec<(usize, SessionFinding)>, Box<dyn Error>> {
    let recordings = simulate(recipe)?;
    let rig = Arc::new(recipe.surveyed_rig(&recordings));
    let episodes: Vec<Episode> = recordings.iter().map(|r| r.episode(&rig)).collect();
    Ok(stops(&Memory::new(&rig, &episodes, episodes.len())))
}

/// Sound sessions of fifty episodes: of the simulated rig, and of plain kinematics that share
/// nothing with it, whose figures have their sources in `generator`.
fn none_of(sessions: std::ops::Range<u64>) -> Tested {
    let dir = tempfile::tempdir()?;
    for turn in sessions {
        let rate_hz = [30.0, 50.0, 25.0, 100.0][turn as usize % 4];
        let found = if turn % 2 == 0 {
            let unit = [StoredUnit::Deg, StoredUnit::Rad][turn as usize / 2 % 2];
            simulated(&healthy(rate_hz, [6, 7, 8][turn as usize % 3], unit, 50, 70_000 + turn))?
        } else {
            let mut draw = Draw(90_000 + turn);
            let style = [Style::MinimumJerk, Style::Sines, Style::Logistic][turn as usize % 3];
            let clock =
                [Clock::Steady, Clock::Slewing, Clock::Rounded(0.001)][turn as usize / 3 % 3];
            let rows = Rows::of(&mut draw, style, clock, rate_hz, 50, 9.0);
            stops(&rows.opened(&dir.path().join("sound.parquet"), None)?)
        };
        let said: Vec<String> = found
            .iter()
            .map(|(at, f)| format!("{at}: {} {:?} {}", f.check.id, f.joint, f.value))
            .collect();
        assert!(said.is_empty(), "session {turn}: {said:?}");
    }
    Ok(())
}

#[test]
fn no_sound_session_of_a_hundred_is_stopped() -> Tested {
    none_of(0..100)
}

/// What a person plants on the rig between two sessions: each is certain by the sixth episode.
#[test]
fn faults_of_the_rig_stop_a_session_by_its_sixth_episode() -> Tested {
    for (fault, joint, check) in [
        (Fault::NeutralOffset { deg: 4.0 }, Some("elbow"), "neutral-offset"),
        (Fault::SignFlip, Some("elbow"), "sign-flip"),
        (Fault::SwappedJoints { with: "shoulder".to_owned() }, Some("elbow"), "joint-swap"),
        (Fault::LagAll { ms: 400.0 }, None, "tracking-lag"),
        (Fault::SlowLoop { rate_hz: 20.0 }, None, "frame-rate"),
        (Fault::DeadJoint, Some("waist"), "dead-joint"),
        (Fault::UnitMismatch { factor: PI / 180.0 }, Some("shoulder"), "unit-mismatch"),
        (Fault::UnitMismatch { factor: 180.0 / PI }, Some("elbow"), "unit-mismatch"),
        (Fault::SwappedArms, None, "arm-swap"),
    ] {
        for joints in [6, 12] {
            let name = joint.filter(|_| joints == 12).map(|name| format!("right_{name}"));
            let joint = name.as_deref().or(joint);
            let fault = match &fault {
                Fault::SwappedJoints { with } if joints == 12 => {
                    Fault::SwappedJoints { with: format!("right_{with}") }
                }
                other => other.clone(),
            };
            let all: Vec<u64> = (0..12).collect();
            let recipe = healthy(30.0, joints, StoredUnit::Deg, 12, 7);
            let found = simulated(&recipe.clone().with(fault.clone(), joint, &all))?;
            let (at, finding) = found.first().ok_or_else(|| format!("{fault:?}: not found"))?;
            assert_eq!(finding.check.id, check, "{joints} joints, {fault:?}");
            assert!((5..=6).contains(at), "{joints} joints, {fault:?} at {at}");
            let rig = recipe.rig();
            let named = finding.joint.map(|at| rig.joints[usize::from(at)].name.clone());
            let either = match &fault {
                Fault::SwappedJoints { with } => named.as_deref() == Some(with),
                _ => false,
            };
            let right = joint.is_none() || either || named.as_deref() == joint;
            assert!(right, "{joints} joints, {fault:?}: {named:?}");
        }
    }
    Ok(())
}
