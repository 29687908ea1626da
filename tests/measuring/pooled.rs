//! What whole sessions say, on the simulated rig: each fault of the rig is one finding, on the right
//! joint, with the planted size in its interval, and only for the episodes that have it.

use std::error::Error;
use std::sync::Arc;

use crate::support::measured::audit;
use crate::support::memory::Memory;
use teleassay::demo::{Fault, Recipe, Recording, StoredUnit, healthy, simulate};
use teleassay::model::{
    CardPlace, Channels, Episode, Outcome, Rig, Scorecard, SessionFinding, Severity, Stretch,
};

type Tested = Result<(), Box<dyn Error>>;

fn session(rate_hz: f64, episodes: u64, seed: u64) -> Recipe {
    healthy(rate_hz, 6, StoredUnit::Deg, episodes, seed)
}

fn run(recipe: &Recipe, threads: usize) -> Result<(Outcome, Arc<Rig>), Box<dyn Error>> {
    let recordings = simulate(recipe)?;
    let rig = Arc::new(recipe.surveyed_rig(&recordings));
    let episodes: Vec<Episode> = recordings.iter().map(|r| r.episode(&rig)).collect();
    Ok((audit(&Memory::new(&rig, &episodes, 7), threads)?, rig))
}

/// The session's findings as a person would tell them to another.
fn reported(outcome: &Outcome, rig: &Rig) -> String {
    let tell = |f: &SessionFinding| {
        let joint = f.joint.map_or("", |j| rig.joint_name(j));
        let (check, value, interval, stretch) = (f.check.id, f.value, f.interval, f.stretch);
        format!("{check} {joint} {value:.4} {interval:?} {}/{} {stretch:?}", f.episodes, f.of)
    };
    outcome.session.findings.iter().map(tell).collect::<Vec<_>>().join("\n")
}

/// The only finding of the session, on this check and joint.
fn only<'a>(outcome: &'a Outcome, rig: &Rig, check: &str, joint: &str) -> &'a SessionFinding {
    let findings = &outcome.session.findings;
    let reported = reported(outcome, rig);
    assert_eq!(findings.len(), 1, "{check} on {joint}:\n{reported}");
    let named = findings[0].joint.map_or("", |j| rig.joint_name(j));
    assert_eq!((findings[0].check.id, named), (check, joint), "{reported}");
    &findings[0]
}

#[test]
fn an_offset_of_the_rig_is_one_finding_with_its_size() -> Tested {
    for (rate_hz, deg, severity) in
        [(25.0, 4.0, Severity::Warn), (50.0, -7.0, Severity::Fail), (200.0, 3.2, Severity::Warn)]
    {
        let sound = session(rate_hz, 16, 21);
        let faulty = sound.clone().with(Fault::NeutralOffset { deg }, Some("elbow"), &[]);
        let (outcome, rig) = run(&faulty, 2)?;
        let found = only(&outcome, &rig, "neutral-offset", "elbow");
        assert_eq!((found.severity, found.stretch), (severity, None));
        let interval = found.interval.ok_or("no interval")?;
        let read = (found.value.to_degrees(), interval.high.to_degrees());
        // The sound rig has an offset of its own, below half a degree.
        assert!((read.0 - deg.abs()).abs() < 0.6, "{rate_hz} Hz, {deg}: {read:?}");
        assert!(interval.high - interval.low < 0.01, "{interval:?}");
    }
    Ok(())
}

#[test]
fn what_begins_or_ends_in_mid_session_is_reported_with_its_episodes() -> Tested {
    let late: Vec<u64> = (18..30).collect();
    let early: Vec<u64> = (0..9).collect();
    for (episodes, stretch) in [
        (&late, Stretch { first: 18.into(), last: 29.into() }),
        (&early, Stretch { first: 0.into(), last: 8.into() }),
    ] {
        let recipe = session(50.0, 30, 5);
        let recipe = recipe.with(Fault::NeutralOffset { deg: 6.5 }, Some("shoulder"), episodes);
        let (outcome, rig) = run(&recipe, 2)?;
        let found = only(&outcome, &rig, "neutral-offset", "shoulder");
        assert_eq!(found.stretch, Some(stretch), "{}", reported(&outcome, &rig));
        assert_eq!((found.episodes, found.of), (episodes.len() as u64, 30));
        assert!((found.value.to_degrees() - 6.5).abs() < 0.6);
    }
    Ok(())
}

#[test]
fn faults_of_the_mapping_are_named_once_and_not_their_consequences() -> Tested {
    let flipped = session(30.0, 10, 8).with(Fault::SignFlip, Some("wrist_pitch"), &[]);
    let (outcome, rig) = run(&flipped, 2)?;
    only(&outcome, &rig, "sign-flip", "wrist_pitch");
    let swapped = session(30.0, 10, 9).with(Fault::SwappedArms, None, &[]);
    let (outcome, rig) = run(&swapped, 2)?;
    let found = only(&outcome, &rig, "arm-swap", "");
    assert_eq!(found.severity, Severity::Fail);
    Ok(())
}

/// The follower's columns, changed joint by joint: the joint whose motion is shown there, its sign,
/// and what disturbs it, over the standard deviation of its motion.
fn disturbed(
    recipe: &Recipe,
    shows: impl Fn(usize) -> (usize, f32),
    strength: f32,
) -> Result<(Outcome, Arc<Rig>), Box<dyn Error>> {
    let recordings = simulate(recipe)?;
    let rig = Arc::new(recipe.surveyed_rig(&recordings));
    let episodes = recordings.iter().enumerate().map(|(number, recording)| {
        let mut episode = recording.episode(&rig);
        let (frames, joints) = (episode.frames(), rig.joints.len());
        let mut values = Vec::with_capacity(frames * joints);
        for joint in 0..joints {
            let (from, sign) = shows(joint);
            let motion = episode.state.joint(from);
            let mean = motion.iter().sum::<f32>() / frames as f32;
            let spread = motion.iter().map(|v| (v - mean).powi(2)).sum::<f32>() / frames as f32;
            let size = if joint < 3 { strength * (2.0 * spread).sqrt() } else { 0.0 };
            let (hertz, phase) = (0.17 + 0.011 * number as f32, (number * 7 + joint * 3) as f32);
            let wander = |row: usize| {
                let time_s = (episode.time_s[row] - episode.time_s[0]) as f32;
                size * (std::f32::consts::TAU * hertz * time_s + phase).sin()
            };
            let shown = motion.iter().enumerate();
            values.extend(shown.map(|(row, v)| mean + sign * (v - mean) + wander(row)));
        }
        episode.state = Channels::new(values, frames, joints);
        episode
    });
    let episodes: Vec<Episode> = episodes.collect();
    Ok((audit(&Memory::new(&rig, &episodes, 7), 2)?, rig))
}

/// Joints on which the session has a finding of this check, and how many episodes have one.
fn found(outcome: &Outcome, check: &str) -> (Vec<Option<u16>>, usize) {
    let of_session = outcome.session.findings.iter().filter(|f| f.check.id == check);
    let mut joints: Vec<Option<u16>> = of_session.map(|f| f.joint).collect();
    joints.sort_unstable();
    let own = |card: &&Scorecard| card.findings.iter().any(|f| f.check.id == check);
    (joints, outcome.cards.iter().filter(own).count())
}

#[test]
fn exchanged_and_flipped_joints_are_told_by_the_session_where_single_episodes_cannot() -> Tested {
    let recipe = session(50.0, 14, 61);
    let swap = |joint: usize| ([2, 1, 0, 3, 4, 5][joint], 1.0);
    let (swapped, rig) = disturbed(&recipe, swap, 0.6)?;
    let (joints, own) = found(&swapped, "joint-swap");
    assert_eq!(joints, [Some(0), Some(2)], "{}", reported(&swapped, &rig));
    assert!(own < 7, "{own} of 14 episodes tell by themselves");

    let flip = |joint: usize| (joint, if joint == 1 { -1.0 } else { 1.0 });
    let (flipped, rig) = disturbed(&recipe, flip, 0.95)?;
    let (joints, own) = found(&flipped, "sign-flip");
    assert_eq!(joints, [Some(1)], "{}", reported(&flipped, &rig));
    assert!(own < 7, "{own} of 14 episodes tell by themselves");

    for strength in [0.0, 0.6, 0.95, 1.5] {
        let (sound, rig) = disturbed(&recipe, |joint| (joint, 1.0), strength)?;
        for check in ["joint-swap", "sign-flip", "arm-swap", "unit-mismatch"] {
            assert!(found(&sound, check).0.is_empty(), "{strength}: {}", reported(&sound, &rig));
        }
    }
    Ok(())
}

/// Only one joint moves: no episode can tell which arm is which, the session can.
#[test]
fn swapped_arms_are_told_by_one_joint_over_the_session() -> Tested {
    let recipe = session(50.0, 12, 71);
    let recordings = simulate(&recipe)?;
    let rig = Arc::new(recipe.surveyed_rig(&recordings));
    let of = |swap: bool| {
        let one = |recording: &Recording| {
            let mut episode = recording.episode(&rig);
            let frames = episode.frames();
            let only = |channels: &Channels| {
                let joints = 0..channels.joints();
                let still = |joint| vec![channels.joint(joint)[0]; frames];
                let values = joints.flat_map(|j| match j {
                    0 => channels.joint(0).to_vec(),
                    joint => still(joint),
                });
                Channels::new(values.collect(), frames, channels.joints())
            };
            let (state, action) = (only(&episode.state), episode.action.as_ref().map(only));
            let action = action.unwrap_or_else(|| state.clone());
            let (first, second) = if swap { (action, state) } else { (state, action) };
            episode.state = first;
            episode.action = Some(second);
            episode
        };
        let episodes: Vec<Episode> = recordings.iter().map(one).collect();
        audit(&Memory::new(&rig, &episodes, 7), 2)
    };
    let (swapped, right) = (of(true)?, of(false)?);
    assert_eq!(found(&swapped, "arm-swap"), (vec![None], 0), "{}", reported(&swapped, &rig));
    // What no episode shows by itself affects each of them all the same.
    assert_eq!(swapped.session.usable_s, 0.0);
    let places = CardPlace::all(swapped.cards.len());
    let barred = |place| swapped.session.findings.iter().any(|finding| finding.bars(place));
    assert!(places.into_iter().all(barred));
    assert_eq!(found(&right, "arm-swap"), (vec![], 0), "{}", reported(&right, &rig));
    Ok(())
}

/// Three in twenty episodes are off: those are for the cards to tell, not for the session.
#[test]
fn a_few_scattered_episodes_are_no_cause_of_the_session() -> Tested {
    let recipe = session(50.0, 20, 33);
    let recipe = recipe.with(Fault::NeutralOffset { deg: 6.5 }, Some("elbow"), &[3, 9, 16]);
    let (outcome, rig) = run(&recipe, 2)?;
    assert!(outcome.session.findings.is_empty(), "{}", reported(&outcome, &rig));
    assert_eq!(outcome.session.counts.fail, 3);
    Ok(())
}

#[test]
fn threads_and_the_order_of_joints_change_no_finding() -> Tested {
    let recipe = session(30.0, 12, 40)
        .with(Fault::NeutralOffset { deg: 3.5 }, Some("elbow"), &[])
        .with(Fault::GainMismatch { factor: 1.14 }, Some("waist"), &[])
        .with(Fault::LagJoint { ms: 200.0 }, Some("shoulder"), &[5, 6, 7, 8, 9, 10, 11]);
    let (one, rig) = run(&recipe, 1)?;
    let (four, _) = run(&recipe, 4)?;
    assert!(one.session.findings.len() >= 3, "{}", reported(&one, &rig));
    assert_eq!(reported(&one, &rig), reported(&four, &rig));

    let recordings = simulate(&recipe)?;
    let order = [4, 2, 0, 5, 1, 3];
    let turned = Arc::new(Rig {
        joints: order.iter().map(|from| rig.joints[*from].clone()).collect(),
        ..Rig::clone(&rig)
    });
    let channels = |channels: &Channels, frames: usize| {
        let columns = order.iter().flat_map(|from| channels.joint(*from).to_vec()).collect();
        Channels::new(columns, frames, order.len())
    };
    let episodes: Vec<Episode> = recordings
        .iter()
        .map(|recording| {
            let mut episode = recording.episode(&turned);
            let frames = episode.frames();
            episode.state = channels(&episode.state, frames);
            episode.action = episode.action.as_ref().map(|action| channels(action, frames));
            episode
        })
        .collect();
    let other = audit(&Memory::new(&turned, &episodes, 7), 2)?;
    let sorted = |text: String| {
        let mut lines: Vec<String> = text.lines().map(str::to_owned).collect();
        lines.sort();
        lines
    };
    assert_eq!(sorted(reported(&one, &rig)), sorted(reported(&other, &turned)));
    Ok(())
}
