use std::sync::Arc;

use super::*;
use crate::check::tracking::grasp;
use crate::cohort::motions::{ledger, push_with, read, sound};
use crate::demo::DemoError;
use crate::model::{Channels, Episode, EpisodeKey, Extras, Joint, Rig, RowRange, Sheet};

const FRAMES: usize = 193;

/// Ten seconds of two joints and a jaw, given at each share of the time; the leader is the
/// follower, but for the jaw's.
fn episode(task: Option<&str>, of: impl Fn(f64) -> [f64; 4]) -> Episode {
    let at: Vec<[f64; 4]> = (0..FRAMES).map(|i| of(i as f64 / (FRAMES - 1) as f64)).collect();
    let channels = |columns: [usize; 3]| {
        let values = columns.into_iter().flat_map(|c| at.iter().map(move |v| v[c] as f32));
        Channels::new(values.collect(), FRAMES, 3)
    };
    let rows = RowRange { input: 0, start: 0, end: FRAMES as u64 };
    let joints = ["waist", "elbow", "jaw"].map(Joint::named).into();
    Episode {
        key: EpisodeKey {
            id: String::new(),
            index: 0.into(),
            task: task.map(Into::into),
            rows,
            labels: Vec::new(),
        },
        rig: Arc::new(Rig { joints, ..Rig::default() }),
        time_s: (0..FRAMES).map(|i| 10.0 * i as f64 / (FRAMES - 1) as f64).collect(),
        state: channels([0, 1, 2]),
        action: Some(channels([0, 1, 3])),
        ragged_rows: 0,
        extras: Extras::default(),
    }
}

/// Adds an episode, and how often its jaw held something if that is known.
fn add(ledger: &mut Ledger, episode: &Episode, grasps: Option<f64>) {
    let mut sheet = Sheet::new(grasp::CHECK.spec);
    if let Some(grasps) = grasps {
        sheet.put_joint(grasp::CHECK.spec.metrics[0], 2, grasps);
    }
    push_with(ledger, episode, sheet.parts().0);
}

fn value(sheet: &CohortSheet, metric: &str) -> f64 {
    let read = sheet.session.iter().find(|read| read.reading.metric.id == metric);
    read.map_or(f64::NAN, |read| read.reading.value)
}

/// From a line of starts to a square of ends, by way of a grasp at half the time at `places[i]`.
fn session(grasps: Option<f64>) -> Ledger {
    let mut ledger = Ledger::default();
    for i in 0..16 {
        let line = 0.02 * f64::from(i);
        let square = [0.2 * f64::from(i % 4), 0.2 * f64::from(i / 4)];
        let grasp = 0.5 + 0.3 * f64::from(i % 2);
        let of = |u: f64| {
            // The jaw closes just before half time, 0.2 short of its leader, and opens at 0.8.
            let closed = ((u - 0.45) / 0.05).clamp(0.0, 1.0) - ((u - 0.8) / 0.05).clamp(0.0, 1.0);
            let jaw = 1.0 - 0.6 * closed;
            let leave = ((u - 0.7) / 0.3).clamp(0.0, 1.0);
            let reach = (u / 0.4).clamp(0.0, 1.0);
            let held = [grasp, 2.0 * grasp];
            let start = [line, 2.0 * line];
            let way =
                |j: usize| start[j] + reach * (held[j] - start[j]) + leave * (square[j] - held[j]);
            [way(0), way(1), jaw, jaw - 0.2 * closed]
        };
        add(&mut ledger, &episode(None, of), grasps);
    }
    ledger
}

#[test]
fn starts_on_a_line_grasps_at_two_points_and_ends_on_a_square_are_told_apart() {
    let sheet = read(&CHECK, &session(Some(1.0)));
    assert!(sheet.not_assessed.is_empty() && sheet.episodes.is_empty());
    let near = |metric: &str, want: f64| {
        let got = value(&sheet, metric);
        assert!((got - want).abs() < 1e-3 * want, "{metric}: {got} for {want}");
    };
    // Variance of 0..16 with n - 1 is 68/3; the line's direction is (1, 2).
    near("start_spread", 0.02 * (5.0 * 68.0 / 3.0f64).sqrt());
    near("start_rank", 1.0);
    // Two points 0.3 apart along (1, 2), eight episodes at each.
    near("grasp_spread", 0.15 * (5.0 * 16.0 / 15.0f64).sqrt());
    near("grasp_rank", 1.0);
    // 0, 1, 2, 3 four times each in both directions: 20/15 each.
    near("end_spread", 0.2 * (2.0 * 20.0 / 15.0f64).sqrt());
    near("end_rank", 2.0);
    let notes: Vec<&str> =
        sheet.session.iter().filter_map(|read| read.reading.note.as_deref()).collect();
    assert_eq!(notes[0], "starts vary by 12.2 deg in 1.0 of 2 directions");
    assert_eq!(notes[2], "ends vary by 18.7 deg in 2.0 of 2 directions");
}

#[test]
fn what_is_not_known_of_grasps_is_said() {
    let none = read(&CHECK, &session(Some(0.0)));
    assert!(value(&none, "grasp_rank").is_nan());
    let told: Vec<_> = none.not_assessed.iter().map(|hole| (hole.joint, &*hole.reason)).collect();
    assert_eq!(told, [(Some(2), "0 episodes of a task with a grasp, needs 10")]);
    // Without a known gripper the jaw is a joint as others are.
    let unknown = read(&CHECK, &session(None));
    let note = unknown.session[0].reading.note.as_deref();
    assert!(note.is_some_and(|n| n.ends_with("; no grasps, as no joint is known to be a gripper")));
    assert!(unknown.not_assessed.is_empty() && note.is_some_and(|n| n.contains("of 3 directions")));
    let few = read(&CHECK, &Ledger::default());
    assert_eq!(few.not_assessed[0].reason, "0 episodes of a task, needs 10");
}

#[test]
fn the_narrowest_task_is_named() {
    let mut ledger = Ledger::default();
    for i in 0..30 {
        // Tasks of their own places: together they would vary far more.
        let (task, place, step) =
            [("pot", 0.0, 0.02), ("tray", 1.0, 0.001), ("few", 2.0, 0.0)][(i % 5 / 2) as usize];
        let at = place + step * f64::from(i);
        add(&mut ledger, &episode(Some(task), |_| [at, 0.0, 0.0, 0.0]), Some(0.0));
    }
    let sheet = read(&CHECK, &ledger);
    assert_eq!(value(&sheet, "start_rank"), 0.0);
    let note = sheet.session[0].reading.note.as_deref();
    assert_eq!(note, Some("starts in one pose (0.5 deg) (task tray, the narrowest of 3)"));
    assert_eq!((sheet.session[0].episodes, sheet.session[0].of), (12, 12));
}

#[test]
fn simulated_sessions_start_in_one_pose_and_never_more_than_their_joints_vary()
-> Result<(), DemoError> {
    for seed in 0..12 {
        let sheet = read(&CHECK, &ledger(&sound(seed, 24), |_, r| r)?);
        let joints = crate::cohort::motions::JOINTS[seed as usize % 3] as f64;
        for metric in ["start_rank", "end_rank"] {
            let rank = value(&sheet, metric);
            assert!((0.0..=joints).contains(&rank), "{seed} {metric} {rank}");
        }
        assert!(sheet.episodes.is_empty());
    }
    Ok(())
}
