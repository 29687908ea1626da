//! Sound episodes of increments, velocities, held and chunked actions, made of filtered noise: what is
//! in the nature of such actions is no fault of the rig.

use std::f64::consts::TAU;
use std::sync::Arc;

use teleassay::catalogue::of_episodes;
use teleassay::check::{Params, Parts, settings};
use teleassay::judge::{Limits, findings, suppress};
use teleassay::model::{
    ActionKind, Actions, Channels, ClockStorage, Episode, EpisodeKey, Extras, Joint, KnownBy, Rig,
    RowRange, Severity, Sheet,
};

const JOINTS: usize = 5;
const RATES_HZ: [f64; 6] = [5.0, 10.0, 20.0, 30.0, 100.0, 500.0];
const EPISODES: u64 = 8;

/// A number between -1 and 1 that belongs to these two.
fn noise(seed: u64, n: u64) -> f64 {
    let mut z = (seed << 32 ^ n).wrapping_add(0x2545_F491_4F6C_DD1D);
    z = (z ^ (z >> 33)).wrapping_mul(0xFF51_AFD7_ED55_8CCD);
    z = (z ^ (z >> 33)).wrapping_mul(0xC4CE_B9FE_1A85_EC53);
    ((z ^ (z >> 33)) >> 11) as f64 / (1u64 << 52) as f64 - 1.0
}

/// Where a joint should be: slow swings of random periods that fade in and out, with a hand's tremor.
fn wanted(seed: u64, joint: usize, t: f64, seconds: f64) -> f64 {
    let own = seed * 64 + joint as u64 * 8;
    let swing = |n: u64| {
        let hertz = 0.12 + 0.1 * n as f64 + 0.05 * noise(own, n);
        (0.25 + 0.1 * noise(own, 20 + n)) * (TAU * hertz * t + 3.0 * noise(own, 40 + n)).sin()
    };
    let fade = |u: f64| {
        let u = u.clamp(0.0, 1.0);
        u * u * (3.0 - 2.0 * u)
    };
    let within = fade((t - 0.5) / 1.5) * fade((seconds - 0.5 - t) / 1.5);
    within * ((0..3).map(swing).sum::<f64>() + 0.0006 * (TAU * 7.3 * t + own as f64).sin())
}

/// An episode of this kind.
fn episode(kind: ActionKind, rate_hz: f64, seed: u64) -> Episode {
    let seconds = 14.0 + 3.0 * noise(seed, 1);
    let frames = (seconds * rate_hz) as usize;
    let time = |row: usize| row as f64 / rate_hz;
    let chunk = 12 + (seed % 7) as usize;
    let servo_s = 0.035 + 0.02 * noise(seed, 2).abs();
    // What the arm is sent at any time, by the frame in which it was sent.
    let at = |joint: usize, row: usize| wanted(seed, joint, time(row), seconds);
    let sent = |joint: usize, row: usize| match kind {
        ActionKind::Held { frames } => at(joint, row - row % usize::from(frames)),
        ActionKind::Chunked => {
            at(joint, row) + 0.012 * noise(seed, 1000 + (row / chunk * JOINTS + joint) as u64)
        }
        _ => at(joint, row),
    };
    let (mut state, mut action) = (Vec::new(), Vec::new());
    for joint in 0..JOINTS {
        let mut arm = sent(joint, 0);
        let sub = (500.0 / rate_hz).ceil().max(1.0) as usize;
        let share = 1.0 - (-1.0 / (rate_hz * sub as f64 * servo_s)).exp();
        for row in 0..frames {
            state.push((arm + 2e-4 * noise(seed, 50_000 + (row * JOINTS + joint) as u64)) as f32);
            let (now, next) = (sent(joint, row), sent(joint, row + 1));
            for part in 0..sub {
                // Between frames rates are carried on; positions stay what they are.
                let u = if kind.is_rate() { (part + 1) as f64 / sub as f64 } else { 0.0 };
                arm += share * (now + u * (next - now) - arm);
            }
            action.push(match kind {
                ActionKind::Delta => (next - now) as f32,
                ActionKind::Velocity => ((next - now) * rate_hz * 2.5) as f32,
                _ => now as f32,
            });
        }
    }
    let joint = |n: usize| Joint { count: 1e-4, ..Joint::named(format!("axis {n}")) };
    let rig = Rig {
        joints: (0..JOINTS).map(joint).collect(),
        rate_hz: Some(rate_hz),
        period_s: 1.0 / rate_hz,
        clock: ClockStorage::Float { precision_bits: 53, scale_s: 1.0 },
        actions: Actions { kind, by: KnownBy::Declared },
        ..Rig::default()
    };
    let rows = RowRange { input: 0, start: 0, end: frames as u64 };
    Episode {
        key: EpisodeKey {
            id: seed.to_string(),
            index: 0.into(),
            task: None,
            rows,
            labels: Vec::new(),
        },
        rig: Arc::new(rig),
        time_s: (0..frames).map(|row| time(row) + 2e-5 * noise(seed, row as u64)).collect(),
        state: Channels::new(state, frames, JOINTS),
        action: Some(Channels::new(action, frames, JOINTS)),
        ragged_rows: 0,
        extras: Extras::default(),
    }
}

/// What is said of an episode, worst first: severity, check and joint.
fn said(episode: &Episode) -> Vec<(Severity, &'static str, Option<u16>)> {
    let checks: Vec<_> = of_episodes().collect();
    let parts = Parts::of(episode, &checks);
    let studies = parts.studies(episode, settings(&Params::default()));
    let mut readings = Vec::new();
    for check in checks {
        let mut sheet = Sheet::new(check.spec());
        studies.measure(check, &Params::default(), &mut sheet);
        readings.extend(sheet.into_parts().0);
    }
    let mut found = findings(&readings, &Limits::default());
    suppress(&mut found);
    found.iter().map(|f| (f.severity, f.check.id, f.joint)).collect()
}

#[test]
fn sound_episodes_of_every_kind_of_action_have_no_fault() {
    let kinds = [
        ActionKind::Delta,
        ActionKind::Velocity,
        ActionKind::Held { frames: 2 },
        ActionKind::Held { frames: 6 },
        ActionKind::Held { frames: 10 },
        ActionKind::Chunked,
    ];
    for kind in kinds {
        let mut seen = Vec::new();
        // A target that stands for a frame is half a frame late: at 5 Hz that is most of the limit of lag.
        let slowest = if kind == ActionKind::Chunked { 10.0 } else { 5.0 };
        for rate_hz in RATES_HZ.into_iter().filter(|rate_hz| *rate_hz >= slowest) {
            for seed in 1..=EPISODES {
                let one = said(&episode(kind, rate_hz, seed * 977));
                seen.extend(one.first().map(|worst| format!("{rate_hz} Hz {seed}: {worst:?}")));
            }
        }
        // Of 48 episodes one may be looked at, and none fails.
        let failed = seen.iter().filter(|line| line.contains("Fail")).count();
        assert!(failed == 0 && seen.len() <= 1, "{kind:?}: {seen:#?}");
    }
}

/// An arm that stops for a second and a half does not follow increments or velocities either.
#[test]
fn an_arm_that_stops_is_seen_by_its_rates() {
    for kind in [ActionKind::Delta, ActionKind::Velocity] {
        for rate_hz in [10.0, 30.0, 100.0] {
            let mut found = 0;
            for seed in 1..=EPISODES {
                let mut sound = episode(kind, rate_hz, seed * 977);
                let frames = sound.frames();
                let (from, to) = ((5.0 * rate_hz) as usize, (7.0 * rate_hz) as usize);
                let mut values = sound.state.values().to_vec();
                for joint in 0..JOINTS {
                    let at = &mut values[joint * frames..(joint + 1) * frames];
                    let (held, gone) = (at[from], at[to] - at[from]);
                    at[from..to].fill(held);
                    // A rate that is lost is lost: the arm goes on from where it stopped.
                    at[to..].iter_mut().for_each(|v| *v -= gone);
                }
                sound.state = Channels::new(values, frames, JOINTS);
                let about = |id: &str| id == "tracking-loss" || id == "frozen-follower";
                found += usize::from(said(&sound).iter().any(|(_, id, _)| about(id)));
            }
            assert!(found >= 7, "{kind:?} {rate_hz} Hz: {found} of {EPISODES}");
        }
    }
}
