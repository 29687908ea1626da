//! Faults of what only some tables hold: cameras, a mobile base, temperatures, a second arm.

use std::f64::consts::{FRAC_PI_2, PI, TAU};
use std::sync::Arc;

use teleassay::demo::{Fault, Recipe};
use teleassay::model::{BaseTrack, CameraTrack, Channels, Episode};

use super::super::rigs::Spot;
use super::{ARM, Case, Grade};

/// A sound recording, to which something is added.
fn added(
    check: &'static str,
    grade: Grade,
    what: &'static str,
    beside: fn(&Spot, &mut Episode),
) -> Case {
    Case::new(check, grade, what, |s| s.sound.clone()).at_least(0).beside(beside)
}

pub(super) fn cases() -> Vec<Case> {
    use Grade::{Advisory, Fail, Warn};
    let mut all = vec![
        added("camera-frames", Fail, "9 % of the rows repeat an image", |_, e| images(e, 11)),
        added("camera-frames", Warn, "3 % of the rows repeat an image", |_, e| images(e, 33)),
        added("camera-skew", Fail, "images 3.5 frames old", |s, e| late(s, e, 3.5)),
        added("camera-skew", Warn, "images 1.2 frames old", |s, e| late(s, e, 1.2)),
        added("base-motion", Fail, "velocities two thirds of the true ones", |_, e| {
            circling(e, 2.0 / 3.0);
        }),
        added("base-motion", Warn, "velocities five sixths of the true ones", |_, e| {
            circling(e, 5.0 / 6.0);
        }),
        added("servo-temperature", Advisory, "a motor a fifth hotter than it may get", hot).on(ARM),
        Case::new("two-arm-consistency", Warn, "an arm two frames (30 ms at least) later", |s| {
            let mut recipe = two_arms(s);
            let ms = 2.0 * (s.period_s() * 1e3).max(15.0);
            for joint in recipe.rig().joints.iter().filter(|j| !j.gripper) {
                if joint.name.starts_with("left_") {
                    recipe = recipe.with(Fault::LagJoint { ms }, Some(&joint.name), &[]);
                }
            }
            recipe
        }),
        Case::new("two-arm-consistency", Fail, "an arm written into both places", two_arms)
            .at_least(0)
            .beside(|_, episode| {
                episode.state = twice(&episode.state);
                episode.action = episode.action.as_ref().map(twice);
            }),
    ];
    all.extend(swings());
    all
}

/// Swings a joint by so many degrees to either side, for half a second up to a third of the episode.
fn swing(spot: &Spot, episode: &mut Episode, deg: f64) {
    let (frames, joints) = (episode.frames(), episode.state.joints());
    let Some(place) = spot.place().map(usize::from) else { return };
    let part = |golden: f64| (spot.turn as f64 * golden).fract();
    let period_s = episode.rig.period_s;
    let longest_s = frames as f64 * period_s / 3.0;
    let seconds = 0.5 + (longest_s - 0.5).max(0.0) * part(0.618_034);
    let hertz = 6.0 + 3.0 * part(0.414_214);
    let length = ((seconds / period_s).ceil() as usize).min(frames);
    let start = (part(0.732_051) * (frames - length) as f64) as usize;
    let count = episode.rig.joints[place].count;
    let mut values = episode.state.clone().into_values();
    for (at, value) in values[place * frames + start..][..length].iter_mut().enumerate() {
        let swing = deg.to_radians() * (TAU * hertz * at as f64 * period_s).sin();
        *value = (((f64::from(*value) + swing) / count).round() * count) as f32;
    }
    episode.state = Channels::new(values, frames, joints);
}

/// A sound recording at one of all the rates.
fn at_any_rate(spot: &Spot) -> Recipe {
    let rate_hz = [20.0, 30.0, 50.0, 100.0, 200.0, 500.0, 1000.0][spot.turn % 7];
    Recipe { rate_hz, ..spot.sound.clone() }
}

/// A joint swings in motion; where the leader rests, limit-cycle may be named.
fn swings() -> Vec<Case> {
    let case = |grade, what, beside: fn(&Spot, &mut Episode)| {
        let case = Case::new("motion-oscillation", grade, what, at_any_rate);
        case.on(ARM).at_least(0).or(&["limit-cycle"]).beside(beside)
    };
    vec![
        case(Grade::Fail, "1.5 degrees to either side, 6 to 9 Hz, 20 to 1,000 Hz", |s, e| {
            swing(s, e, 1.5);
        }),
        case(Grade::Warn, "1 degree to either side, 6 to 9 Hz, 20 to 1,000 Hz", |s, e| {
            swing(s, e, 1.0);
        }),
    ]
}

fn two_arms(spot: &Spot) -> Recipe {
    Recipe { joints: 14, ..spot.sound.clone() }
}

/// The first half of the joints in the place of the second as well.
fn twice(channels: &Channels) -> Channels {
    let half = channels.joints() / 2;
    let values = (0..2 * half).flat_map(|joint| channels.joint(joint % half).to_vec());
    Channels::new(values.collect(), channels.frames(), 2 * half)
}

/// A camera that goes with the rows, but in every so-many-th stays at its image.
fn images(episode: &mut Episode, every: usize) {
    let index = (0..episode.frames()).map(|row| (row - row / every) as f64).collect();
    let name = Arc::from("table");
    episode.extras.cameras =
        vec![CameraTrack { name, rate_hz: None, index: Some(index), stamp_s: None }];
}

/// A camera whose images are so many frames older than their rows.
fn late(spot: &Spot, episode: &mut Episode, frames: f64) {
    let stamps = episode.time_s.iter().map(|time_s| time_s - frames * spot.period_s()).collect();
    let index = (0..episode.frames()).map(|row| row as f64).collect();
    let name = Arc::from("table");
    episode.extras.cameras =
        vec![CameraTrack { name, rate_hz: None, index: Some(index), stamp_s: Some(stamps) }];
}

/// A base on a circle of a metre at 0.4 rad/s, whose velocities are this share of the true ones.
fn circling(episode: &mut Episode, share: f64) {
    const TURN: f64 = 0.4;
    let frames = episode.frames();
    let of = |channels: &[&dyn Fn(f64) -> f64]| {
        let all = channels.iter().flat_map(|c| episode.time_s.iter().map(|t| c(*t) as f32));
        Channels::new(all.collect(), frames, channels.len())
    };
    let heading = |t: f64| (TURN * t + FRAC_PI_2 + PI).rem_euclid(TAU) - PI;
    let pose = of(&[&|t| (TURN * t).cos(), &|t| (TURN * t).sin(), &heading]);
    let velocity = of(&[&|_| share * TURN, &|_| share * TURN]);
    episode.extras.base = Some(BaseTrack { velocity, pose });
}

/// Temperatures that rise from 40 degrees to a fifth beyond what is declared for the joint.
fn hot(spot: &Spot, episode: &mut Episode) {
    let (frames, joints) = (episode.frames(), episode.state.joints());
    let Some(place) = spot.place() else { return };
    for joint in &mut Arc::make_mut(&mut episode.rig).joints {
        joint.max_temperature = Some(60.0);
    }
    let at = |joint: usize, row: usize| {
        let rise = if joint == usize::from(place) { 32.0 } else { 12.0 };
        (40.0 + (rise * (2.0 * row as f64 / frames as f64).min(1.0)).round()) as f32
    };
    let values = (0..joints).flat_map(|joint| (0..frames).map(move |row| at(joint, row)));
    episode.extras.temperature = Some(Channels::new(values.collect(), frames, joints));
}
