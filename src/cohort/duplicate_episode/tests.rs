//! Copies of every kind planted in simulated sessions, and sessions without any.

use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, StandardNormal};

use super::*;
use crate::cohort::motions::{above, ledger, read, sound};
use crate::demo::{DemoError, Recipe, Recording, Simulator};

type Tested = Result<(), DemoError>;

/// What was done to a copy.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Change {
    Nothing,
    Stamps,
    Noise,
    Shift,
    Head,
    Tail,
    NoisyTail,
    BothEnds,
}

const CHANGES: [Change; 8] = [
    Change::Nothing,
    Change::Stamps,
    Change::Noise,
    Change::Shift,
    Change::Head,
    Change::Tail,
    Change::NoisyTail,
    Change::BothEnds,
];

fn columns(r: &mut Recording) -> impl Iterator<Item = &mut Vec<f64>> {
    r.leader.iter_mut().chain(r.follower.iter_mut())
}

/// Leaves out the first and last frames.
fn cut(mut r: Recording, head_s: f64, tail_s: f64) -> Recording {
    let frames = r.frames();
    let start = r.time_s.partition_point(|t| t - r.time_s[0] < head_s);
    let end = r.time_s.partition_point(|t| r.time_s[frames - 1] - t >= tail_s).max(start + 1);
    for column in columns(&mut r) {
        *column = column[start..end].to_vec();
    }
    r.time_s = r.time_s[start..end].to_vec();
    r
}

/// One count of noise, rounded to counts again.
fn noisy(mut r: Recording, seed: u64) -> Recording {
    let mut random = ChaCha8Rng::seed_from_u64(seed);
    let count = std::f64::consts::TAU / 4096.0;
    for value in columns(&mut r).flatten() {
        let noise: f64 = StandardNormal.sample(&mut random);
        *value = (*value / count + noise).round() * count;
    }
    r
}

/// The same motion read so much later in each period.
fn later(mut r: Recording, by_s: f64) -> Recording {
    let time_s = r.time_s.clone();
    for column in columns(&mut r) {
        for i in 0..time_s.len() - 1 {
            let weight = by_s / (time_s[i + 1] - time_s[i]);
            column[i] += weight.min(1.0) * (column[i + 1] - column[i]);
        }
    }
    r
}

fn changed(r: Recording, change: Change, seed: u64) -> Recording {
    match change {
        Change::Nothing => r,
        Change::Stamps => {
            let mut r = r;
            r.time_s.iter_mut().for_each(|t| *t += 3_600.0);
            r
        }
        Change::Noise => noisy(r, seed),
        Change::Shift => later(r, 0.004),
        Change::Head => cut(r, 2.0, 0.0),
        Change::Tail => cut(r, 0.0, 2.0),
        Change::NoisyTail => noisy(cut(r, 0.0, 2.0), seed),
        Change::BothEnds => cut(r, 0.7, 0.8),
    }
}

/// A session whose last episodes are copies of the first ones.
fn copied(recipe: &Recipe, change: Change, copies: u64) -> Result<Ledger, DemoError> {
    let simulator = Simulator::new(recipe)?;
    let first_copy = recipe.episodes - copies;
    let of = |id: u64, r: Recording| {
        if id < first_copy { r } else { changed(simulator.episode(id - first_copy), change, id) }
    };
    ledger(recipe, of)
}

/// Every kind of copy, at every rate and number of joints, in small and large sessions.
#[test]
fn planted_copies_are_found_and_nothing_else() -> Tested {
    let mut told = Vec::new();
    for change in CHANGES {
        let (mut found, mut all, mut wrong) = (0, 0, 0);
        for seed in 0..12 {
            for episodes in [10, 120] {
                let copies = episodes / 5;
                let sheet = read(&CHECK, &copied(&sound(seed, episodes), change, copies)?);
                let exact = matches!(change, Change::Nothing | Change::Stamps);
                let metric = if exact { "exact_copy" } else { "near_copy" };
                let rows = above(&sheet, metric, 0.0);
                let first_copy = (episodes - copies) as usize;
                let is = |row: &usize| {
                    let note = format!("same as#{}", row.wrapping_sub(first_copy));
                    let told =
                        |e: &&(usize, Reading, String)| e.0 == *row && e.1.metric.id == metric;
                    *row >= first_copy
                        && sheet.episodes.iter().find(told).is_some_and(|e| e.2.ends_with(&note))
                };
                all += copies as usize;
                let right = rows.iter().filter(|row| is(row)).count();
                found += right;
                wrong += rows.len() - right;
                let other = if exact { "near_copy" } else { "exact_copy" };
                wrong += above(&sheet, other, 0.0).len();
            }
        }
        told.push((change, found, all, wrong));
    }
    let good = |t: &(Change, usize, usize, usize)| t.1 * 100 >= t.2 * 98 && t.3 == 0;
    assert!(told.iter().all(good), "{told:?}");
    Ok(())
}

/// No two of these are the same, although the trays' cells come again and again.
#[test]
fn distinct_episodes_are_no_copies() -> Tested {
    let mut all = 0;
    for (seed, episodes) in [(0, 6_000), (1, 6_000), (2, 4_000), (3, 4_000), (4, 40), (5, 8)] {
        let sheet = read(&CHECK, &ledger(&sound(seed, episodes), |_, r| r)?);
        assert!(sheet.not_assessed.is_empty(), "{:?}", sheet.not_assessed);
        all += episodes;
        for metric in ["exact_copy", "near_copy"] {
            assert!(above(&sheet, metric, 0.0).is_empty(), "{metric} at {episodes}");
        }
    }
    assert!(all >= 20_000);
    Ok(())
}

/// A still arm is alike by chance, and a script is meant to be the same.
#[test]
fn still_arms_and_scripts_are_no_copies() -> Tested {
    let still = |_, mut r: Recording| {
        for column in columns(&mut r) {
            column.fill(0.25);
        }
        r
    };
    let sheet = read(&CHECK, &ledger(&sound(3, 12), still)?);
    assert!(sheet.episodes.is_empty());
    assert_eq!(sheet.not_assessed[0].reason, "0 episodes that move, needs 2");
    let script = Simulator::new(&sound(3, 1))?.episode(0);
    let sheet = read(&CHECK, &ledger(&sound(3, 12), |id, _| noisy(script.clone(), id))?);
    assert!(above(&sheet, "exact_copy", 0.0).is_empty());
    assert!(
        sheet.not_assessed[0].reason.ends_with("as motion from a script does"),
        "{:?}",
        sheet.not_assessed
    );
    Ok(())
}

#[test]
fn two_episodes_have_no_usual_difference_but_may_be_the_same() -> Tested {
    let sheet = read(&CHECK, &copied(&sound(4, 2), Change::Nothing, 1)?);
    assert_eq!(above(&sheet, "exact_copy", 0.0), [1]);
    assert_eq!(sheet.not_assessed[0].reason, "near copies: 1 different episode, needs 4");
    Ok(())
}
