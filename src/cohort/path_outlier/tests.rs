//! Simulated sessions, healthy and with odd episodes among them.

use super::*;
use crate::cohort::motions::{above, ledger, read, sound};
use crate::demo::{DemoError, Fault, Recipe, Recording, Simulator};

type Tested = Result<(), DemoError>;

fn odd(sheet: &CohortSheet) -> Vec<usize> {
    above(sheet, "path_distance", 1.0)
}

/// Every rate, number of joints and hand; trays of many cells are the usual scatter.
#[test]
fn healthy_sessions_have_no_odd_path() -> Tested {
    let (mut sessions, mut alarmed, mut parted) = (0, 0, 0);
    for (episodes, seeds) in [(6, 60), (8, 60), (12, 40), (30, 24), (100, 12), (400, 6)] {
        for seed in 0..seeds {
            let sheet = read(&CHECK, &ledger(&sound(seed, episodes), |_, r| r)?);
            assert!(sheet.not_assessed.is_empty() && sheet.episodes.len() == episodes as usize);
            sessions += 1;
            alarmed += usize::from(!odd(&sheet).is_empty());
            parted += usize::from(sheet.session[0].reading.value != 1.0);
        }
    }
    assert!(sessions >= 200 && alarmed * 100 <= sessions, "{alarmed} of {sessions}");
    assert!(parted * 100 <= sessions, "{parted} of {sessions} in groups");
    Ok(())
}

/// A session whose hand sweeps as widely as on the usual bench.
fn wide(seed: u64, episodes: u64) -> Recipe {
    let mut recipe = sound(seed, episodes);
    recipe.operator.spread = 1.0;
    recipe
}

/// Mirrors joints about their start: another way, of the same tempo.
fn mirrored(mut recording: Recording, joints: &[usize]) -> Recording {
    for arm in [&mut recording.leader, &mut recording.follower] {
        for &joint in joints {
            let start = arm[joint][0];
            arm[joint].iter_mut().for_each(|v| *v = 2.0 * start - *v);
        }
    }
    recording
}

/// One arm of six or seven joints whose waist goes the other way. Where several arms scatter, one
/// joint is little.
#[test]
fn another_way_is_found_and_its_joint_named() -> Tested {
    let (mut found, mut named, mut all) = (0, 0, 0);
    for (episodes, seeds) in [(8, 40), (30, 20), (200, 4)] {
        for seed in (50..50 + seeds).filter(|seed| seed % 3 != 2) {
            let at = seed as usize % 8;
            let change = |id, r| if id == at as u64 { mirrored(r, &[0]) } else { r };
            let sheet = read(&CHECK, &ledger(&wide(seed, episodes), change)?);
            assert!(odd(&sheet).iter().all(|row| *row == at));
            let farthest = sheet.episodes.iter().max_by(|a, b| a.1.value.total_cmp(&b.1.value));
            assert!(farthest.is_some_and(|e| e.0 == at), "{seed} {episodes}");
            let joint = sheet.episodes[at].2.split(", ").next() == Some("path@0");
            all += 1;
            found += usize::from(odd(&sheet) == [at]);
            named += usize::from(joint);
        }
    }
    // The waist alone is found in five of six; a whole arm that goes another way always is.
    assert!(all > 40 && found * 100 >= all * 80 && named >= found, "{found}, {named} of {all}");
    Ok(())
}

#[test]
fn an_arm_that_goes_another_way_is_always_found() -> Tested {
    for (episodes, seed) in (0..24).map(|seed| ([8, 30][seed as usize % 2], seed)) {
        let change = |id, r| if id == 3 { mirrored(r, &[0, 1, 2, 3]) } else { r };
        let sheet = read(&CHECK, &ledger(&wide(seed, episodes), change)?);
        assert_eq!(odd(&sheet), [3], "{seed}");
    }
    Ok(())
}

/// What waits, hurries or stops early on its way has not taken another.
#[test]
fn pauses_and_tempo_are_no_way() -> Tested {
    for (fault, seed) in
        [(Fault::IdleTail { seconds: 6.0 }, 3), (Fault::IdleHead { seconds: 6.0 }, 4)]
    {
        let recipe = sound(seed, 20).with(fault, None, &[5]);
        let sheet = read(&CHECK, &ledger(&recipe, |_, r| r)?);
        assert!(odd(&sheet).is_empty(), "{:?}", odd(&sheet));
    }
    Ok(())
}

/// Half of the session goes the other way: two groups, no crowd of odd episodes.
#[test]
fn two_ways_are_two_groups() -> Tested {
    for (episodes, others) in [(7, 3), (40, 12)] {
        let change = |id, r| if id < others { mirrored(r, &[0, 1, 2, 3]) } else { r };
        let sheet = read(&CHECK, &ledger(&wide(9, episodes), change)?);
        assert!(odd(&sheet).is_empty(), "{:?}", odd(&sheet));
        assert_eq!(sheet.session[0].reading.value, 2.0);
        let want = format!(
            "demonstrations fall into 2 groups, of {} and {others} episodes",
            episodes - others
        );
        assert_eq!(sheet.session[0].reading.note.as_deref(), Some(want.as_str()));
    }
    Ok(())
}

#[test]
fn few_episodes_and_unsketched_ones_are_not_assessable() -> Tested {
    let sheet = read(&CHECK, &ledger(&sound(1, 5), |_, r| r)?);
    assert!(sheet.episodes.is_empty() && sheet.session.is_empty());
    assert_eq!(sheet.not_assessed[0].reason, "5 episodes with a path, needs 6");
    assert_eq!(read(&CHECK, &Ledger::default()).not_assessed.len(), 1);
    Ok(())
}

/// A joint that is never read has no part; an episode without a joint that others have is left out.
#[test]
fn missing_joints_make_no_odd_path() -> Tested {
    let blank = |mut r: Recording, joint: usize| {
        r.follower[joint].fill(f64::NAN);
        r
    };
    let sheet = read(&CHECK, &ledger(&sound(2, 12), |_, r| blank(r, 2))?);
    assert!(sheet.episodes.len() == 12 && odd(&sheet).is_empty());
    let one = |id, r| if id == 4 { blank(r, 2) } else { r };
    let sheet = read(&CHECK, &ledger(&sound(2, 12), one)?);
    assert!(sheet.episodes.len() == 11 && odd(&sheet).is_empty());
    Ok(())
}

/// Tasks are never held against one another.
#[test]
fn another_task_is_no_odd_path() -> Tested {
    let simulator = Simulator::new(&sound(6, 20))?;
    let rig = std::sync::Arc::new(sound(6, 20).rig());
    let mut all = Ledger::default();
    for id in 0..20 {
        let recording = simulator.episode(id);
        let other = id % 3 == 0;
        let mut episode =
            if other { mirrored(recording, &[0, 1, 2, 3]) } else { recording }.episode(&rig);
        episode.key.task = Some(if other { "prune".into() } else { "pot".into() });
        crate::cohort::motions::push(&mut all, &episode);
    }
    let sheet = read(&CHECK, &all);
    assert!(odd(&sheet).is_empty() && sheet.session[0].reading.value == 1.0);
    Ok(())
}

/// A path far from the rest is odd however many episodes there are, and a sample judges them all.
#[test]
fn large_sessions_are_judged_by_a_sample() -> Tested {
    let recipe = sound(7, 3_000);
    let change = |id, r| if id % 1_000 == 999 { mirrored(r, &[0, 1, 2, 3]) } else { r };
    let sheet = read(&CHECK, &ledger(&recipe, change)?);
    assert_eq!(odd(&sheet), [999, 1_999, 2_999]);
    Ok(())
}
