//! A base whose velocity, summed up, does not match the path it took.
//!
//! Wheels slip, have another size than was entered, or the two columns have different units; a
//! policy that learns velocities then goes too far or not far enough.
//!
//! How: over stretches of one second the way by the velocities (turned by the heading, each over
//! its jump) and the way by the pose, for place and heading apart. The reading is how
//! far the slope through the origin of the pose on the velocities is off 1. Turns are taken the
//! short way round, so a heading that wraps at half a turn is no jump. Whether velocities are the
//! base's own or the world's is taken from which explains the way better.
//!
//! Traps: needs 0.2 m of way, 20 degrees of turning: below that not assessable. A pose made from
//! the same wheels slips with them. Stretches are of 1 s at any rate from 5 to 1,000 Hz. Read only from declared columns (`[base]` in the profile).

use crate::check::prelude::{Check, Params, Study};
use crate::model::{BaseTrack, CheckSpec, Extra, Family, Metric, Rig, Sheet, Unit};

const LEAST_WAY_M: f64 = 0.2;
const LEAST_TURN: f64 = 20.0 * std::f64::consts::PI / 180.0;

static WAY_OFF: Metric =
    Metric::of_episode("way_off", Unit::Ratio, "pose over summed velocity, off 1, for the way")
        .above(Some(0.1), Some(0.3));
static TURN_OFF: Metric = Metric::of_episode(
    "turn_off",
    Unit::Ratio,
    "pose over summed turn rate, off 1, for the heading",
)
.above(Some(0.1), Some(0.3));

static SPEC: CheckSpec = CheckSpec {
    id: "base-motion",
    family: Family::Base,
    applies_to: crate::model::SignalKind::ALL,
    needs: crate::model::Relation::Nothing,
    advisory: false,
    source: include_str!("base_motion.rs"),
    cause: "wheels slip or have another size than was entered, or units differ",
    remedy: "measure wheels and track again; look at the units of both columns",
    reference: "common practice, no source",
    metrics: &[&WAY_OFF, &TURN_OFF],
    params: &[],
};

/// The check; the head of this file is its manual.
pub static CHECK: Check = Check::of_episode(&SPEC, measure).extras(&[Extra::Base]).without(without);

fn without(rig: &Rig) -> Option<&'static str> {
    (!rig.extras.contains(&Extra::Base)).then_some("no base columns")
}

fn measure(study: &Study<'_>, _: &Params, sheet: &mut Sheet) {
    let Some(base) = &study.episode.extras.base else {
        return sheet.not_assessed("no base columns");
    };
    let Some(period_s) = study.period_s() else { return sheet.not_assessed("no frame period") };
    let second = ((1.0 / period_s).round() as usize).max(2);
    let stretches = stretches(base, &study.episode.time_s, second, period_s);
    let sum = |of: fn(&Stretch) -> f64| stretches.iter().map(of).sum::<f64>();
    let way = sum(|s| s.way[0].hypot(s.way[1]));
    if way < LEAST_WAY_M {
        sheet.not_assessed(format!("the base went {way:.2} m, needs {LEAST_WAY_M} m"));
    } else {
        let (own, own_left) = slope(&stretches, |s| s.own);
        let (world, world_left) = slope(&stretches, |s| s.world);
        sheet.put(&WAY_OFF, (if own_left <= world_left { own } else { world } - 1.0).abs());
    }
    let turned = sum(|s| s.turn.abs());
    if turned < LEAST_TURN {
        sheet.not_assessed(format!("the base turned {:.0} deg, needs 20 deg", turned.to_degrees()));
    } else {
        let (turn, _) = slope_of(stretches.iter().map(|s| (s.turn_summed, s.turn)));
        sheet.put(&TURN_OFF, (turn - 1.0).abs());
    }
}

/// What happened in a second.
#[derive(Debug, Default)]
struct Stretch {
    /// By the pose.
    way: [f64; 2],
    turn: f64,
    /// By the velocities, taken as the base's own, and as the world's.
    own: [f64; 2],
    world: [f64; 2],
    turn_summed: f64,
}

/// Stretches of so many steps without a gap or a missing value.
fn stretches(base: &BaseTrack, time_s: &[f64], steps: usize, period_s: f64) -> Vec<Stretch> {
    let speeds = base.velocity.joints();
    let speed = |channel: usize, row: usize| f64::from(base.velocity.joint(channel)[row]);
    let pose = |channel: usize, row: usize| f64::from(base.pose.joint(channel)[row]);
    let mut found = Vec::new();
    let (mut now, mut taken) = (Stretch::default(), 0);
    for row in 1..time_s.len() {
        let before = row - 1;
        let dt = time_s[row] - time_s[before];
        let mean = |channel: usize| f64::midpoint(speed(channel, before), speed(channel, row));
        let turn = short_way(pose(2, row) - pose(2, before));
        let (forward, sideways) = (mean(0) * dt, if speeds > 2 { mean(1) * dt } else { 0.0 });
        let (sine, cosine) = (pose(2, before) + turn / 2.0).sin_cos();
        let way = [pose(0, row) - pose(0, before), pose(1, row) - pose(1, before)];
        let own = [forward * cosine - sideways * sine, forward * sine + sideways * cosine];
        let turn_summed = mean(speeds - 1) * dt;
        let whole =
            [way[0], way[1], turn, own[0], own[1], turn_summed].iter().all(|v| v.is_finite());
        if !whole || dt <= 0.0 || dt > 3.5 * period_s {
            (now, taken) = (Stretch::default(), 0);
            continue;
        }
        for axis in 0..2 {
            now.way[axis] += way[axis];
            now.own[axis] += own[axis];
        }
        now.world[0] += forward;
        now.world[1] += sideways;
        now.turn += turn;
        now.turn_summed += turn_summed;
        taken += 1;
        if taken == steps {
            found.push(std::mem::take(&mut now));
            taken = 0;
        }
    }
    found
}

/// An angle between minus and plus half a turn.
fn short_way(angle: f64) -> f64 {
    use std::f64::consts::{PI, TAU};
    (angle + PI).rem_euclid(TAU) - PI
}

fn slope(stretches: &[Stretch], summed: fn(&Stretch) -> [f64; 2]) -> (f64, f64) {
    slope_of(stretches.iter().flat_map(|s| {
        let summed = summed(s);
        [(summed[0], s.way[0]), (summed[1], s.way[1])]
    }))
}

/// Slope through the origin of the second on the first, and the squares that it leaves.
fn slope_of(pairs: impl Iterator<Item = (f64, f64)>) -> (f64, f64) {
    let (mut xx, mut xy, mut yy) = (0.0, 0.0, 0.0);
    for (x, y) in pairs {
        xx += x * x;
        xy += x * y;
        yy += y * y;
    }
    if xx > 0.0 { (xy / xx, yy - xy * xy / xx) } else { (0.0, yy) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::testing::{Bench, Measured};
    use crate::model::{Channels, Episode};

    /// A base on a circle of 1 m at 0.4 rad/s, whose velocities are this share of the true ones.
    fn circling(rate_hz: f64, share: f64, world: bool) -> Episode {
        let mut episode = Bench::at(rate_hz).seconds(30.0).episode();
        let frames = episode.frames();
        let turn = 0.4;
        let heading = |t: f64| short_way(turn * t + std::f64::consts::FRAC_PI_2);
        let of = |channels: &[&dyn Fn(f64) -> f64]| {
            let all = channels.iter().flat_map(|c| episode.time_s.iter().map(|t| c(*t) as f32));
            Channels::new(all.collect(), frames, channels.len())
        };
        let pose = of(&[&|t| (turn * t).cos(), &|t| (turn * t).sin(), &heading]);
        let rate = move |_: f64| share * turn;
        let velocity = if world {
            of(&[
                &|t| -share * turn * (turn * t).sin(),
                &|t| share * turn * (turn * t).cos(),
                &rate,
            ])
        } else {
            of(&[&|_| share * turn, &rate])
        };
        episode.extras.base = Some(BaseTrack { velocity, pose });
        episode
    }

    #[test]
    fn the_share_that_the_velocities_lack_is_read_for_way_and_turn() {
        for rate_hz in [5.0, 10.0, 30.0, 50.0, 200.0, 1000.0] {
            for (share, world) in [(1.0, false), (1.0, true), (0.8, false), (0.8, true)] {
                let read = Measured::of(&CHECK, &circling(rate_hz, share, world));
                let off = 1.0 / share - 1.0;
                for metric in ["way_off", "turn_off"] {
                    let value = read.value(metric);
                    assert!((value - off).abs() < 0.01, "{rate_hz} Hz {metric}: {value} for {off}");
                }
            }
        }
    }

    #[test]
    fn a_base_that_stands_says_nothing() {
        let mut episode = Bench::at(30.0).seconds(10.0).episode();
        let frames = episode.frames();
        let still = |channels| Channels::new(vec![0.0; frames * channels], frames, channels);
        episode.extras.base = Some(BaseTrack { velocity: still(2), pose: still(3) });
        let read = Measured::of(&CHECK, &episode);
        assert!(read.is_not_assessed("needs 0.2 m") && read.is_not_assessed("needs 20 deg"));
    }
}
