//! Readings that repeat with and without a cause.

use super::*;
use crate::check::testing::{Bench, Measured, sway};

const COUNT: f64 = std::f64::consts::TAU / 4096.0;

fn counted(rate_hz: f64) -> Bench {
    let round = |angle: f64| (angle / COUNT).round() * COUNT;
    Bench::at(rate_hz)
        .seconds(20.0)
        .leader(move |joint, t| round(2.0 * sway(joint, t)))
        .rig(|rig| rig.joints.iter_mut().for_each(|joint| joint.count = COUNT))
}

#[test]
fn coarse_and_resting_joints_repeat_without_being_stale() {
    for rate_hz in [25.0, 30.0, 50.0, 100.0, 200.0] {
        let bench = counted(rate_hz).measure(&CHECK);
        assert_eq!(bench.value("stale_rows"), 0.0, "{rate_hz} Hz");
        assert_eq!(bench.joint("stale_share", 0), 0.0, "{rate_hz} Hz");
    }
}

/// Noise of a count on each reading, as some sensors have: steady motion then repeats by chance.
#[test]
fn noisy_readings_that_repeat_are_not_stale() {
    let mut state = 7u64;
    let mut noise = || {
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
        let part = |shift: u32| ((state >> shift) & 0xffff) as f64 / 65_536.0 - 0.5;
        2.0 * (part(16) + part(32) + part(48))
    };
    for rate_hz in [25.0, 30.0, 50.0] {
        let mut repeats = 0;
        for _ in 0..20 {
            let mut episode = counted(rate_hz).episode();
            let frames = episode.frames();
            let mut values = episode.state.clone().into_values();
            for value in &mut values {
                *value = ((f64::from(*value) / COUNT + noise()).round() * COUNT) as f32;
            }
            episode.state = crate::model::Channels::new(values, frames, 2);
            let read = Measured::of(&CHECK, &episode);
            repeats += (0..2).filter(|j| read.joint("stale_share", *j) > 0.002).count();
        }
        assert!(repeats <= 1, "{rate_hz} Hz: {repeats} of 40 joints");
    }
}

/// The row before is handed out for so long from 5.2 s on: 13 and 6 degrees a second.
fn stale_rows(rate_hz: f64, seconds: f64) -> Measured {
    let mut episode = counted(rate_hz).leader(|joint, t| 0.2 * sway(joint, t)).episode();
    let (frames, start) = (episode.frames(), (5.2 * rate_hz) as usize);
    let end = start + (seconds * rate_hz).round() as usize;
    let mut values = episode.state.clone().into_values();
    for joint in 0..2 {
        let column = &mut values[joint * frames..(joint + 1) * frames];
        let held = column[start - 1];
        column[start..end].fill(held);
    }
    episode.state = crate::model::Channels::new(values, frames, 2);
    Measured::of(&CHECK, &episode)
}

/// Slow motion at high rates steps by a count or two, which is no bracket by itself.
#[test]
fn eighty_milliseconds_of_stale_rows_are_found_at_high_rates_too() {
    for rate_hz in [100.0, 200.0, 500.0, 1000.0] {
        let read = stale_rows(rate_hz, 0.08);
        let start = (5.2 * rate_hz) as u32;
        let spans = read.spans("stale_rows");
        assert!(spans.len() == 1 && spans[0].0.abs_diff(start) <= 4, "{rate_hz} Hz: {read:?}");
        assert!(spans[0].1.abs_diff(start + (0.08 * rate_hz) as u32) <= 1, "{rate_hz} Hz");
    }
}

/// Actions of 0.4 s: the arm is there after five rows, waits for three, and goes on in one bound.
#[test]
fn an_arm_that_waits_for_its_next_update_is_not_stale() {
    const WAY: [f64; 8] = [0.45, 0.75, 0.9, 0.97, 1.0, 1.0, 1.0, 1.0];
    let at = |joint: usize, hold: f64| sway(joint, 0.4 * hold);
    let split = |t: f64| {
        let row = (20.0 * t).round();
        ((row / 8.0).floor(), row.rem_euclid(8.0) as usize)
    };
    let read = |kind: ActionKind| {
        let bench = counted(20.0)
            .leader(move |joint, t| at(joint, split(t).0))
            .follower(move |joint, t| {
                let (hold, row) = split(t);
                let (from, to) = (at(joint, hold - 1.0), at(joint, hold));
                ((from + WAY[row] * (to - from)) / COUNT).round() * COUNT
            })
            .moved_stamps(|_| 0.0)
            .rig(move |rig| rig.actions.kind = kind);
        bench.measure(&CHECK).value("stale_rows")
    };
    assert_eq!(read(ActionKind::Held { frames: 8 }), 0.0);
    assert!(read(ActionKind::Position) > 0.01, "nothing says that it waits");
}

/// What the manual states: one frame from 12 to 50 Hz and at 100 Hz in fast motion, else 40 ms.
#[test]
fn the_resolution_of_the_manual_holds() {
    for (rate_hz, frames) in
        [(12.5, 1), (30.0, 1), (50.0, 1), (100.0, 1), (500.0, 20), (1000.0, 40)]
    {
        let mut episode = counted(rate_hz).episode();
        let (all, start) = (episode.frames(), (5.05 * rate_hz) as usize);
        let mut values = episode.state.clone().into_values();
        for joint in 0..2 {
            let column = &mut values[joint * all..(joint + 1) * all];
            let held = column[start - 1];
            column[start..start + frames].fill(held);
        }
        assert_eq!(Measured::of(&CHECK, &episode).value("stale_rows"), 0.0, "{rate_hz} Hz");
        episode.state = crate::model::Channels::new(values, all, 2);
        let read = Measured::of(&CHECK, &episode);
        assert!(read.value("stale_rows") > 0.0, "{rate_hz} Hz: {read:?}");
    }
}

/// At high rates one joint repeats for some rows before all of them do.
#[test]
fn rows_that_are_stale_are_told_once() {
    for rate_hz in [500.0, 1000.0] {
        let read = stale_rows(rate_hz, 0.2);
        assert!(read.value("stale_rows") > 0.01, "{rate_hz} Hz: {read:?}");
        let own = [0, 1].map(|joint| read.joint("stale_share", joint));
        assert!(own.iter().all(|share| *share == 0.0 || share.is_nan()), "{own:?}");
    }
}

#[test]
fn below_twelve_frames_a_second_nothing_is_said() {
    let read = counted(10.0).measure(&CHECK);
    assert!(read.missing("stale_rows") && read.is_not_assessed("12 Hz"), "{read:?}");
}

#[test]
fn a_joint_too_slow_for_a_stale_reading_to_show_is_not_assessable() {
    let slow = counted(200.0).leader(|joint, t| 0.05 * sway(joint, t));
    let read = slow.measure(&CHECK);
    assert!(read.missing("stale_share") && read.is_not_assessed("never moved"), "{read:?}");
}

#[test]
fn a_value_handed_out_again_is_counted_where_it_happened() {
    for rate_hz in [25.0, 30.0, 50.0] {
        let mut episode = counted(rate_hz).episode();
        let frames = episode.frames();
        let mut values = episode.state.clone().into_values();
        // Joint 0 crosses its middle every 1.25 s: it is fastest there.
        let middle = |k: usize| ((1.33 + 1.25 * k as f64) * rate_hz) as usize;
        let places: Vec<usize> = (0..10).map(middle).collect();
        for &at in &places {
            values[at] = values[at - 1];
        }
        episode.state = crate::model::Channels::new(values, frames, 2);
        let read = Measured::of(&CHECK, &episode);
        let spans = read.joint_spans("stale_share", 0);
        assert_eq!(spans.len(), 8, "{rate_hz} Hz");
        assert!(spans.iter().all(|s| places.contains(&(s.0 as usize)) && s.1 == s.0 + 1));
        assert!(read.joint("stale_share", 0) > 0.01, "{read:?}");
        assert_eq!((read.value("stale_rows"), read.joint("stale_share", 1)), (0.0, 0.0));
    }
}

/// A degree to each frame, on which noise makes every other reading too great, by `calm` within
/// half a second of the repeats: steps differ by four times that.
fn ramp(calm: f64, elsewhere: f64, stale: &'static [usize]) -> usize {
    let ramp = Bench::at(30.0).seconds(5.0).leader(|_, t| (30.0 * t).to_radians());
    let measured = ramp.follower(move |joint, t| {
        let at = (t * 30.0).round() as usize;
        let noise = if stale.iter().any(|s| s.abs_diff(at) < 16) { calm } else { elsewhere };
        let at = if joint == 0 && stale.contains(&at) { at - 1 } else { at };
        (at as f64 + [noise, -noise][at % 2]).to_radians()
    });
    measured.measure(&CHECK).joint_spans("stale_share", 0).len()
}

/// A repeat misses 5.8 standard deviations, or 3.9.
#[test]
fn a_lone_repeat_must_stand_out_more_than_several() {
    assert_eq!((ramp(0.05, 0.05, &[60]), ramp(0.05, 0.05, &[60, 90])), (1, 2));
    assert_eq!((ramp(0.075, 0.075, &[60]), ramp(0.075, 0.075, &[60, 92])), (0, 2));
}

/// Two dozen noisy readings look calm by chance now and then: 15 standard deviations there are 2.7 of all.
#[test]
fn a_repeat_must_stand_out_from_the_noise_of_the_whole_episode() {
    assert_eq!((ramp(0.02, 0.02, &[60]), ramp(0.02, 0.11, &[60])), (1, 0));
    // Noise that comes only where the repeat is counts as well.
    assert_eq!(ramp(0.11, 0.02, &[60]), 0);
}
