//! Sound episodes that look odd: what belongs to the task, the hand or the servo is no fault.

use std::f64::consts::{PI, TAU};
use std::sync::Arc;

use teleassay::catalogue::of_episodes;
use teleassay::check::{Params, Study, settings};
use teleassay::judge::{Limits, findings};
use teleassay::model::{
    AngleUnit, Channels, ClockStorage, Episode, EpisodeKey, Extras, Joint, Rig, RowRange, Sheet,
};

const COUNT: f64 = TAU / 4096.0;
const JOINTS: usize = 6;
const RATES_HZ: [f64; 5] = [25.0, 30.0, 50.0, 100.0, 200.0];

/// A sound episode, and what is odd about it.
struct Case {
    seconds: f64,
    /// The leader's angle in degrees by joint and time; the last joint is the gripper.
    leader: fn(usize, f64) -> f64,
    /// Fastest turn of the follower, degrees a second.
    speed_limit_deg_s: f64,
    /// The follower's stop on joint 0 and the gripper's contact, degrees.
    stop_deg: f64,
    contact_deg: f64,
    stamp_step_s: f64,
}

const PLAIN: Case = Case {
    seconds: 12.0,
    leader: work,
    speed_limit_deg_s: 400.0,
    stop_deg: 90.0,
    contact_deg: -90.0,
    stamp_step_s: 1e-9,
};

/// From 0 to 1 as smoothly as can be while `t` goes from `from` on for `lasts` seconds.
fn way(t: f64, from: f64, lasts: f64) -> f64 {
    let u = ((t - from) / lasts).clamp(0.0, 1.0);
    u * u * u * (10.0 + u * (6.0 * u - 15.0))
}

/// There and back: every 3 s a motion of 1.2 s, from the first half second on.
fn work(joint: usize, t: f64) -> f64 {
    let size = [40.0, -25.0, 35.0, 12.0, -30.0, 30.0][joint];
    let (turn, within) = ((t / 3.0).floor(), t.rem_euclid(3.0));
    let there = way(within, 0.4, 1.2) - way(within, 1.7, 1.2);
    size * there * (1.0 + 0.1 * (turn * 1.7).sin()) + 0.2 * (TAU * 0.11 * t + joint as f64).sin()
}

fn fixed(seed: usize) -> f64 {
    let mut mixed = (seed as u64 + 1).wrapping_mul(0x9E37_79B9_7F4A_7C15);
    mixed = (mixed ^ (mixed >> 31)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
    (mixed >> 11) as f64 / (1u64 << 52) as f64 - 1.0
}

impl Case {
    fn episode(&self, rate_hz: f64) -> Episode {
        let frames = (self.seconds * rate_hz) as usize;
        let moment = |row: usize| (row as f64 + 0.02 * fixed(row)) / rate_hz;
        let time_s: Vec<f64> = (0..frames)
            .map(|row| ((100.0 + moment(row)) / self.stamp_step_s).round() * self.stamp_step_s)
            .collect();
        let counted = |degrees: f64| ((degrees.to_radians() / COUNT).round() * COUNT) as f32;
        let (mut action, mut state) = (Vec::new(), Vec::new());
        for joint in 0..JOINTS {
            action.extend((0..frames).map(|row| counted((self.leader)(joint, moment(row)))));
            let mut at = (self.leader)(joint, 0.0);
            let step_s = 0.002;
            let mut now = 0.0;
            for row in 0..frames {
                while now < moment(row) {
                    // 20 ms of dead time, then a first-order servo with a largest speed.
                    let pull = ((self.leader)(joint, now - 0.02) - at) / 0.05;
                    at += pull.clamp(-self.speed_limit_deg_s, self.speed_limit_deg_s) * step_s;
                    at = if joint == 0 { at.min(self.stop_deg) } else { at };
                    at = if joint + 1 == JOINTS { at.max(self.contact_deg) } else { at };
                    now += step_s;
                }
                state.push(counted(at));
            }
        }
        let key = EpisodeKey {
            id: "0".into(),
            index: 0.into(),
            task: None,
            rows: RowRange { input: 0, start: 0, end: frames as u64 },
            labels: Vec::new(),
        };
        let joint = |j: usize| Joint {
            lower: Some(-PI),
            upper: Some(if j == 0 { self.stop_deg.to_radians() } else { PI }),
            gripper: j + 1 == JOINTS,
            count: COUNT,
            ..Joint::named(format!("j{j}"))
        };
        let rig = Rig {
            joints: (0..JOINTS).map(joint).collect(),
            rate_hz: Some(rate_hz),
            period_s: 1.0 / rate_hz,
            clock: ClockStorage::Float { precision_bits: 53, scale_s: 1.0 },
            unit: AngleUnit::Radian,
            unit_declared: true,
            ..Rig::default()
        };
        Episode {
            key,
            rig: Arc::new(rig),
            time_s,
            state: Channels::new(state, frames, JOINTS),
            action: Some(Channels::new(action, frames, JOINTS)),
            ragged_rows: 0,
            extras: Extras::default(),
        }
    }

    /// What the checks of timing, signal, limits and motion complain of, at each rate.
    fn complaints(&self) -> Vec<String> {
        let mut reported = Vec::new();
        for rate_hz in RATES_HZ {
            let episode = self.episode(rate_hz);
            let study = Study::new(&episode, settings(&Params::default()));
            for check in of_episodes()
                .filter(|check| check.spec().family != teleassay::model::Family::Tracking)
            {
                let mut sheet = Sheet::new(check.spec());
                check.measure(&study, &Params::default(), &mut sheet);
                for finding in findings(&sheet.into_parts().0, &Limits::default()) {
                    let (metric, value) = (finding.metric.id, finding.value);
                    reported.push(format!("{rate_hz} Hz: {metric} {:?} {value:.4}", finding.joint));
                }
            }
        }
        reported
    }
}

#[track_caller]
fn quiet(case: &Case) {
    assert_eq!(case.complaints(), Vec::<String>::new());
}

#[test]
fn plain_work() {
    quiet(&PLAIN);
}

#[test]
fn a_gripper_that_holds_most_of_the_time() {
    let hold = |joint: usize, t: f64| {
        let squeeze = -8.0 * way(t, 1.0, 0.5) + 8.0 * way(t, 10.8, 0.5);
        if joint + 1 == JOINTS { 10.0 + squeeze } else { work(joint, t) }
    };
    quiet(&Case { leader: hold, contact_deg: 5.0, ..PLAIN });
}

#[test]
fn a_pour_with_four_seconds_of_stillness() {
    let pour = |joint: usize, t: f64| work(joint, if t < 5.5 { t.min(1.65) } else { t - 3.85 });
    quiet(&Case { leader: pour, seconds: 12.85, ..PLAIN });
}

#[test]
fn a_joint_that_the_task_never_uses() {
    quiet(&Case { leader: |joint, t| if joint == 3 { 7.0 } else { work(joint, t) }, ..PLAIN });
}

#[test]
fn a_hand_that_trembles_at_nine_hertz() {
    let tremor = |joint: usize, t: f64| work(joint, t) + 0.25 * (TAU * 9.0 * t).sin();
    quiet(&Case { leader: tremor, ..PLAIN });
}

#[test]
fn a_home_pose_at_the_stop() {
    let home =
        |joint: usize, t: f64| if joint == 0 { -work(0, t).max(0.0) } else { work(joint, t) };
    quiet(&Case { leader: home, stop_deg: 0.0, ..PLAIN });
}

#[test]
fn fast_moves_of_a_slow_servo() {
    let fast = |joint: usize, t: f64| 2.5 * work(joint, t);
    quiet(&Case { leader: fast, speed_limit_deg_s: 120.0, stop_deg: 170.0, ..PLAIN });
}

#[test]
fn stamps_rounded_to_a_millisecond() {
    quiet(&Case { stamp_step_s: 1e-3, ..PLAIN });
}

#[test]
fn three_seconds_and_forty_minutes() {
    quiet(&Case { seconds: 3.0, ..PLAIN });
    quiet(&Case { seconds: 2400.0, ..PLAIN });
}
