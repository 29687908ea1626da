//! Swings of known size and frequency, and what only looks like one.

use super::*;
use crate::check::testing::{Bench, Measured, sway};
use crate::model::Channels;

const RATES_HZ: [f64; 7] = [20.0, 30.0, 50.0, 100.0, 200.0, 500.0, 1000.0];

/// Joint 0 of the follower swings for so many seconds from 5 s on, by `deg` to either side.
fn swinging(rate_hz: f64, deg: f64, hertz: f64, seconds: f64) -> Bench {
    Bench::at(rate_hz).seconds(12.0).follower(move |joint, t| {
        let here = joint == 0 && (5.0..5.0 + seconds).contains(&t);
        let swing = if here { deg * (TAU * hertz * t + 0.4).sin() } else { 0.0 };
        sway(joint, t - 0.08) + swing.to_radians()
    })
}

#[test]
fn a_swing_in_motion_is_read_with_joint_size_and_place() {
    for rate_hz in RATES_HZ {
        for hertz in [2.7, 4.4, 6.2, 8.7, 12.1, 19.0].into_iter().filter(|f| *f < NYQUIST * rate_hz)
        {
            let seconds = (3.5 / hertz).max(0.7);
            let read = swinging(rate_hz, 1.5, hertz, seconds).measure(&CHECK);
            let deg = read.joint("swing", 0).to_degrees();
            assert!((deg - 3.0).abs() < 0.6, "{rate_hz} Hz, {hertz} Hz: {deg}");
            let spans = read.joint_spans("swing", 0);
            let (start, end) = spans[0];
            let at = |row: u32| f64::from(row) / rate_hz;
            assert!(at(start) > 4.5 && at(end) < 5.5 + seconds, "{rate_hz} Hz: {spans:?}");
            assert_eq!(read.joint("swing", 1), 0.0, "{rate_hz} Hz");
        }
    }
}

/// The frequencies that are seen at each rate, as the manual states them.
#[test]
fn it_sees_what_its_manual_says() {
    for (rate_hz, most_hz) in [(20.0, 9.0), (30.0, 13.5), (100.0, 20.0), (1000.0, 20.0)] {
        let seen = swinging(rate_hz, 1.5, 0.97 * most_hz, 2.0).measure(&CHECK);
        assert!(seen.joint("swing", 0) > 1.5 * DEGREE, "{rate_hz} Hz");
    }
    let read = swinging(10.0, 1.5, 4.0, 2.0).measure(&CHECK);
    assert!(read.missing("swing") && read.is_not_assessed("less than 12 Hz"));
}

/// Tremor of a hand, at 9 Hz by a degree, of which the servo leaves nothing; commands in steps;
/// readings in steps.
#[test]
fn what_the_leader_does_too_and_steps_are_no_swing() {
    for rate_hz in RATES_HZ {
        let hand = |joint: usize, t: f64| sway(joint, t) + (TAU * 9.0 * t).sin().to_radians();
        let still = Bench::at(rate_hz).seconds(12.0).leader(hand);
        let slow = still.follower(|joint, t| sway(joint, t - 0.08));
        assert_eq!(slow.measure(&CHECK).joint("swing", 0), 0.0, "{rate_hz} Hz");
        for step_s in [0.1, 0.2] {
            let every = move |t: f64| (t / step_s).floor() * step_s;
            let commands = Bench::at(rate_hz).seconds(12.0);
            let commands = commands.leader(move |joint, t| sway(joint, every(t)));
            let followed = commands.follower(|joint, t| sway(joint, t - 0.13));
            assert_eq!(followed.measure(&CHECK).joint("swing", 0), 0.0, "{rate_hz} Hz, leader");
            let readings = Bench::at(rate_hz).seconds(12.0);
            let readings = readings.follower(move |joint, t| sway(joint, every(t) - 0.08));
            assert_eq!(readings.measure(&CHECK).joint("swing", 0), 0.0, "{rate_hz} Hz, follower");
        }
    }
}

/// A knock, a stop, a joint without torque for a second: no three swings.
#[test]
fn knocks_stops_and_lost_torque_are_no_swing() {
    for rate_hz in RATES_HZ {
        let knock = |t: f64| (-(t - 5.0).powi(2) / 0.005).exp() * 4f64.to_radians();
        let cases: [fn(f64, f64) -> f64; 3] = [
            |truth, t| if (5.0..6.0).contains(&t) { 0.2 } else { truth },
            |truth, _| truth.min(0.2),
            |truth, _| truth.clamp(-0.3, 0.25),
        ];
        let knocked = Bench::at(rate_hz).seconds(12.0);
        let knocked = knocked.follower(move |joint, t| sway(joint, t - 0.08) + knock(t));
        assert_eq!(knocked.measure(&CHECK).joint("swing", 0), 0.0, "{rate_hz} Hz");
        for (at, case) in cases.into_iter().enumerate() {
            let bench = Bench::at(rate_hz).seconds(12.0);
            let bench = bench.follower(move |joint, t| case(sway(joint, t - 0.08), t));
            assert_eq!(bench.measure(&CHECK).joint("swing", 0), 0.0, "{rate_hz} Hz, {at}");
        }
    }
}

/// Whole counts of 0.65 degrees, and noise of one of them.
#[test]
fn coarse_and_noisy_readings_are_no_swing() {
    let count = 0.65f64.to_radians();
    for rate_hz in RATES_HZ {
        let mut episode = Bench::at(rate_hz).seconds(12.0).episode();
        let mut state = 7u64;
        let mut noise = || {
            state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
            ((state >> 33) & 0xffff) as f64 / 65_536.0 - 0.5
        };
        let (frames, values) = (episode.frames(), episode.state.clone().into_values());
        let coarse = |v: &f32| ((f64::from(*v) / count + 2.0 * noise()).round() * count) as f32;
        episode.state = Channels::new(values.iter().map(coarse).collect(), frames, 2);
        let read = Measured::of(&CHECK, &episode);
        assert!(read.joint("swing", 0) < 1.4 * DEGREE, "{rate_hz} Hz: {read:?}");
    }
}
