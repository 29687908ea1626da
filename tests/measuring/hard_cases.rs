//! What looks like a fault and is none.

use std::f64::consts::TAU;
use std::sync::Arc;

use super::Card;
use teleassay::demo::{DemoError, Recipe, Recording, Simulator, StoredUnit, healthy};
use teleassay::model::Verdict;

const RATES_HZ: [f64; 5] = [25.0, 30.0, 50.0, 100.0, 200.0];
/// Episodes of each session.
const EPISODES: u64 = 3;

fn quiet(what: &str, recipe: &Recipe, change: &dyn Fn(&mut Recording)) -> Result<(), DemoError> {
    let rig = Arc::new(recipe.rig());
    let mut episodes = 0;
    for mut recording in Simulator::new(recipe)?.episodes() {
        episodes += 1;
        change(&mut recording);
        let card = Card::of(&recording, &rig);
        let reported = card.reported(&rig);
        assert_eq!(Verdict::of(&card.findings), Verdict::Pass, "{what}: {reported:?}");
    }
    assert_eq!(episodes, EPISODES, "{what}");
    Ok(())
}

fn sessions() -> impl Iterator<Item = Recipe> {
    RATES_HZ.into_iter().zip(0..).map(|(rate_hz, k)| {
        healthy(rate_hz, if k % 2 == 0 { 6 } else { 8 }, StoredUnit::Deg, EPISODES, 60 + k)
    })
}

#[test]
fn stamps_rounded_to_a_millisecond() -> Result<(), DemoError> {
    for recipe in sessions() {
        quiet("stamps in ms", &recipe, &|recording| {
            for stamp in &mut recording.time_s {
                *stamp = (*stamp * 1e3).round() / 1e3;
            }
        })?;
    }
    Ok(())
}

#[test]
fn four_seconds_of_stillness_over_the_pot() -> Result<(), DemoError> {
    for mut recipe in sessions() {
        recipe.operator.wait_s = 4.0;
        quiet("pour", &recipe, &|_| {})?;
    }
    Ok(())
}

#[test]
fn a_joint_that_the_task_never_uses() -> Result<(), DemoError> {
    for recipe in sessions() {
        quiet("unused joint", &recipe, &|recording| {
            let held = recording.leader[3][0];
            recording.leader[3].fill(held);
            recording.follower[3].fill(held);
        })?;
    }
    Ok(())
}

#[test]
fn a_leader_that_trembles_at_nine_hertz() -> Result<(), DemoError> {
    for recipe in sessions() {
        quiet("tremor", &recipe, &|recording| {
            let moments = recording.truth.moment_s.clone();
            for (joint, column) in recording.leader.iter_mut().enumerate().take(5) {
                for (value, t) in column.iter_mut().zip(&moments) {
                    *value += 0.3f64.to_radians() * (TAU * 9.0 * t + joint as f64).sin();
                }
            }
        })?;
    }
    Ok(())
}

#[test]
fn a_slow_servo_in_fast_moves() -> Result<(), DemoError> {
    for mut recipe in sessions() {
        recipe.operator.pace = 1.35;
        recipe.servo.speed_limit_deg_s = 150.0;
        quiet("speed limit", &recipe, &|_| {})?;
    }
    Ok(())
}

/// Three seconds that begin and end at rest.
#[test]
fn three_seconds() -> Result<(), DemoError> {
    for recipe in sessions() {
        quiet("3 s", &recipe, &|recording| {
            let frames = (3.0 * recipe.rate_hz) as usize;
            let edge = (0.3 * recipe.rate_hz) as usize;
            let way = |from: usize| -> f64 {
                let columns = recording.leader.iter().chain(&recording.follower);
                columns.map(|column| (column[from + edge] - column[from]).abs()).sum()
            };
            let first = (0..recording.time_s.len() - frames)
                .min_by(|a, b| {
                    let share_at_ends = |from: usize| {
                        let all: f64 = (from..from + frames - edge).step_by(edge).map(&way).sum();
                        way(from).max(way(from + frames - edge - 1)) / all
                    };
                    share_at_ends(*a).total_cmp(&share_at_ends(*b))
                })
                .unwrap_or(0);
            recording.time_s.drain(..first);
            recording.time_s.truncate(frames);
            for column in recording.leader.iter_mut().chain(&mut recording.follower) {
                column.drain(..first);
                column.truncate(frames);
            }
        })?;
    }
    Ok(())
}

/// One episode after the other without a break, the joints brought together between them.
#[test]
fn forty_minutes() -> Result<(), DemoError> {
    let recipe = healthy(30.0, 6, StoredUnit::Deg, 180, 77);
    let rig = Arc::new(recipe.rig());
    let simulator = Simulator::new(&recipe)?;
    let mut episodes = simulator.episodes();
    let mut whole = episodes.next().unwrap_or_else(|| panic!("no episode"));
    for next in episodes {
        let last_s = whole.time_s.last().copied().unwrap_or(0.0);
        let first_s = next.time_s.first().copied().unwrap_or(0.0);
        // A second to return to the start, the follower 90 ms behind.
        let frames = 30;
        let place = |from: f64, to: f64, s: f64| {
            let u = s.clamp(0.0, 1.0);
            from + (to - from) * u * u * u * (10.0 + u * (6.0 * u - 15.0))
        };
        for (columns, others, late_s) in
            [(&mut whole.leader, &next.leader, 0.0), (&mut whole.follower, &next.follower, 0.09)]
        {
            for (column, other) in columns.iter_mut().zip(others) {
                let (from, to) = (column.last().copied().unwrap_or(0.0), other[0]);
                column
                    .extend((0..frames).map(|i| place(from, to, (i as f64 / 30.0 - late_s) / 0.9)));
                column.extend(other);
            }
        }
        whole.time_s.extend((1..=frames).map(|i| last_s + i as f64 / 30.0));
        whole.time_s.extend(next.time_s.iter().map(|t| t - first_s + last_s + 1.0 + 1.0 / 30.0));
    }
    let card = Card::of(&whole, &rig);
    assert!(whole.time_s.len() > 40 * 60 * 30, "{}", whole.time_s.len());
    assert_eq!(Verdict::of(&card.findings), Verdict::Pass, "{:?}", card.reported(&rig));
    Ok(())
}

/// The jaws hold a plug from the second second to the end, for four fifths of the episode or more.
#[test]
fn a_gripper_that_holds_nearly_all_the_time() -> Result<(), DemoError> {
    for recipe in sessions() {
        quiet("holding", &recipe, &|recording| {
            let jaw = recording.leader.len() - 1;
            let moments = recording.truth.moment_s.clone();
            for (at, t) in moments.iter().enumerate() {
                let closed = ((t - 0.8) / 0.4).clamp(0.0, 1.0);
                recording.leader[jaw][at] = 0.7 - 0.6 * closed;
                let late = ((t - 0.88) / 0.4).clamp(0.0, 1.0);
                recording.follower[jaw][at] = (0.7 - 0.6 * late).max(0.3);
            }
        })?;
    }
    Ok(())
}

/// The home pose lies at a stop of the shoulder, and the leader rests half a degree beyond it.
#[test]
fn an_arm_that_rests_on_its_stop_at_home() -> Result<(), DemoError> {
    for recipe in sessions() {
        quiet("home at a stop", &recipe, &|recording| {
            let shoulder = &recording.leader[1];
            let home = shoulder[0];
            let mean = shoulder.iter().sum::<f64>() / shoulder.len() as f64;
            let outward = (home - mean).signum();
            let stop = outward * home - 0.5f64.to_radians();
            for value in &mut recording.follower[1] {
                *value = outward * (outward * *value).min(stop);
            }
        })?;
    }
    Ok(())
}
