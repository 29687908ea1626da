use std::sync::Arc;

use super::*;
use crate::cohort::motions::{ledger, push, read, sound};
use crate::demo::{DemoError, Recording, Simulator};
use crate::model::Bound;

fn values(sheet: &CohortSheet, metric: &str) -> Vec<f64> {
    let of = sheet.episodes.iter().filter(|e| e.1.metric.id == metric);
    of.map(|e| e.1.value).collect()
}

/// The leader on the other side of its follower.
fn opposed(mut r: Recording) -> Recording {
    for (leader, follower) in r.leader.iter_mut().zip(&r.follower) {
        leader.iter_mut().zip(follower).for_each(|(l, f)| *l = 2.0 * f - *l);
    }
    r
}

#[test]
fn the_one_that_commands_the_opposite_in_the_same_states_is_last() -> Result<(), DemoError> {
    for seed in 0..12 {
        for episodes in [10, 40] {
            let odd = 3 + seed % 5;
            let turn = |id, r| if id == odd { opposed(r) } else { r };
            let sheet = read(&CHECK, &ledger(&sound(seed, episodes), turn)?);
            let scatter = values(&sheet, "command_scatter");
            let rank = values(&sheet, "less_consistent_than");
            assert_eq!(scatter.len(), episodes as usize, "{seed} {:?}", sheet.not_assessed);
            let odd = odd as usize;
            assert!((0..scatter.len()).all(|at| at == odd || scatter[at] < scatter[odd]), "{seed}");
            assert_eq!(rank[odd], 1.0);
            assert!(rank.iter().all(|rank| (0.0..=1.0).contains(rank)));
        }
    }
    Ok(())
}

/// Commands that do not depend on the state differ from their neighbours' as from any: 1. Those
/// that are a function of it hardly differ.
#[test]
fn chance_reads_one_and_a_law_reads_little() -> Result<(), DemoError> {
    let mut random = 1u64;
    let mut uniform = move || {
        // Numerical Recipes' constants (from memory): any even spread will do.
        random =
            random.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (random >> 11) as f64 / (1u64 << 53) as f64 - 0.5
    };
    let mut chance = |_, mut r: Recording| {
        for (leader, follower) in r.leader.iter_mut().zip(&r.follower) {
            leader.iter_mut().zip(follower).for_each(|(l, f)| *l = f + 0.3 * uniform());
        }
        r
    };
    let law = |_, mut r: Recording| {
        for (leader, follower) in r.leader.iter_mut().zip(&r.follower) {
            leader.iter_mut().zip(follower).for_each(|(l, f)| *l = 1.2 * f);
        }
        r
    };
    let of_chance = values(&read(&CHECK, &ledger(&sound(1, 40), &mut chance)?), "command_scatter");
    let mean = of_chance.iter().sum::<f64>() / of_chance.len() as f64;
    assert!((mean - 1.0).abs() < 0.03, "{mean}");
    let of_law = values(&read(&CHECK, &ledger(&sound(1, 40), law)?), "command_scatter");
    assert!(of_law.len() == 40 && of_law.iter().all(|v| *v < 0.5), "{of_law:?}");
    Ok(())
}

#[test]
fn nobody_is_ever_judged() {
    assert!(SPEC.metrics.iter().all(|metric| matches!(metric.bound, Bound::Unjudged)));
}

#[test]
fn what_cannot_be_told_is_said() -> Result<(), DemoError> {
    let few = read(&CHECK, &ledger(&sound(1, 9), |_, r| r)?);
    assert_eq!(few.not_assessed[0].reason, "9 episodes of a task with a leader, needs 10");
    let same = |_, mut r: Recording| {
        r.leader.clone_from(&r.follower);
        r
    };
    let copied = read(&CHECK, &ledger(&sound(1, 12), same)?);
    assert_eq!(copied.not_assessed[0].reason, "leader and follower never differ");
    // One of twelve is all by itself: two radians from the others in every joint.
    let away = |id, mut r: Recording| {
        if id == 5 {
            r.leader.iter_mut().chain(&mut r.follower).flatten().for_each(|v| *v += 2.0);
        }
        r
    };
    let alone = read(&CHECK, &ledger(&sound(1, 60), away)?);
    assert_eq!(alone.not_assessed[0].reason, "episodes mostly in states that no other was in: 1");
    assert_eq!(values(&alone, "command_scatter").len(), 59);
    Ok(())
}

/// The sample of a large session ranks as all of them would.
#[test]
fn of_many_episodes_some_are_enough() -> Result<(), DemoError> {
    let simulator = Simulator::new(&sound(1, 260))?;
    let rig = Arc::new(simulator.recipe().rig());
    let mut all = Ledger::default();
    for id in 0..260 {
        let recording = simulator.episode(id);
        let recording = if id % 50 == 7 { opposed(recording) } else { recording };
        push(&mut all, &recording.episode(&rig));
    }
    let rows: Vec<usize> = (0..260).collect();
    let commands = Commands::of(&all, &rows);
    for (step, neighbours) in [(1, 100), (2, 100), (4, 100), (4, 25)] {
        let neighbours = Neighbours::of(&commands, &some_of(260, neighbours));
        let Some(neighbours) = neighbours else { panic!("they differ") };
        let mut sheet = CohortSheet::default();
        write(&scatters(&commands, &neighbours, step), &mut sheet);
        let rank = values(&sheet, "less_consistent_than");
        assert_eq!(rank.len(), 260);
        for id in [7, 57, 107, 157, 207, 257] {
            assert!(rank[id] >= 254.0 / 259.0, "{step} {id}: {}", rank[id]);
        }
    }
    let effort = |episodes| super::effort(episodes, 100);
    assert_eq!([9, 23_529, 23_530].map(effort), [(1, 100), (1, 100), (2, 100)]);
    assert_eq!([100_000, 200_000, 9_000_000].map(effort), [(4, 100), (4, 50), (4, 25)]);
    Ok(())
}
