//! Where a joint left its leader by its own motion.
//!
//! A servo without torque whose joint bears a load does not stand: it sinks, and where the leader rests
//! meanwhile, or goes the same way, no slope shows it. What a working servo is late by, or held back
//! by, is made by the leader's motion; here the follower's own motion makes it.

use std::ops::Range;

use crate::check::study::Trace;

const DEGREE: f64 = std::f64::consts::PI / 180.0;
/// Off the usual error by this at the farthest: no hand pushes a servo with torque so far.
const FARTHEST: f64 = 20.0 * DEGREE;
/// A stretch lasts as long as the joint is off by more than this, to one side ...
const AWAY: f64 = 8.0 * DEGREE;
/// ... and for at least this long, in time and points.
const LASTS_S: f64 = 0.2;
const LASTS: usize = 4;
/// Where it is off by less than this, it has not left yet.
const AT_HOME: f64 = 2.0 * DEGREE;
/// The follower itself went at least this far on the way to the farthest point ...
const OWN: f64 = 10.0 * DEGREE;
/// ... which is this share of the error, and its leader went at most this share of it the same way.
const OWN_SHARE: f32 = 0.5;
const LED_SHARE: f32 = 0.5;
/// A joint takes time to fall: no single step is more than this share of its way.
const STEP_SHARE: f32 = 0.5;
/// A joint that is off for more than this share of the episode has no usual error to leave.
const MOST: f64 = 0.5;

/// A stretch in which a joint was off its leader by its own motion.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct CarriedOff {
    /// The points at which it was off.
    pub points: Range<usize>,
    /// How far at the farthest, in the joint's unit.
    pub by: f32,
}

/// Every such stretch. `unit` is a radian's worth in the joint's unit.
pub(super) fn carried_off(trace: &Trace, unit: f64) -> Vec<CarriedOff> {
    let limit = |radians: f64| (radians * unit) as f32;
    // Most joints are never far off their leader.
    let (low, high) = trace
        .error
        .iter()
        .fold((f32::MAX, f32::MIN), |(low, high), error| (low.min(*error), high.max(*error)));
    if trace.error.is_empty() || high - low < limit(FARTHEST) {
        return Vec::new();
    }
    let mut found = Vec::new();
    let mut sorted = trace.error.clone();
    let middle = sorted.len() / 2;
    let usual = *sorted.select_nth_unstable_by(middle, f32::total_cmp).1;
    for sign in [-1.0f32, 1.0] {
        let off = |at: usize| sign * (trace.error[at] - usual);
        for segment in &trace.segments {
            let mut at = segment.start;
            while at < segment.end {
                if off(at) < limit(AWAY) {
                    at += 1;
                    continue;
                }
                let start = at;
                while at < segment.end && off(at) >= limit(AWAY) {
                    at += 1;
                }
                if at - start < LASTS || (at - start) as f64 * trace.step_s < LASTS_S {
                    continue;
                }
                let left = (segment.start..start).rev().find(|at| off(*at) < limit(AT_HOME));
                let Some(left) = left else { continue };
                found.extend(stretch(trace, left, start..at, sign, &off, &limit));
            }
        }
    }
    let whole: usize = found.iter().map(|one: &CarriedOff| one.points.len()).sum();
    if whole as f64 > MOST * trace.error.len() as f64 {
        found.clear();
    }
    found.sort_by_key(|one| one.points.start);
    found
}

/// The stretch, if the follower's own motion made it. It left its leader at the point `left`.
fn stretch(
    trace: &Trace,
    left: usize,
    points: Range<usize>,
    sign: f32,
    off: &impl Fn(usize) -> f32,
    limit: &impl Fn(f64) -> f32,
) -> Option<CarriedOff> {
    let farthest = points.clone().max_by(|a, b| off(*a).total_cmp(&off(*b)))?;
    let by = off(farthest);
    let follower = |at: usize| trace.leader[at] + trace.error[at];
    let own = sign * (follower(farthest) - follower(left));
    let led = sign * (trace.leader[farthest] - trace.leader[left]);
    let step =
        (left..farthest).map(|at| sign * (follower(at + 1) - follower(at))).fold(0.0f32, f32::max);
    let carried = by >= limit(FARTHEST)
        && own >= limit(OWN)
        && own >= OWN_SHARE * by
        && led <= LED_SHARE * own
        && step <= STEP_SHARE * own;
    carried.then_some(CarriedOff { points, by })
}

#[cfg(test)]
mod tests {
    use super::*;

    const STEP_S: f64 = 0.04;

    /// Ten seconds of a leader and what its follower makes of it, in degrees.
    fn found(leader: impl Fn(f64) -> f64, follower: impl Fn(f64) -> f64) -> Vec<CarriedOff> {
        let times = || (0..250).map(|at| f64::from(at) * STEP_S);
        let radians = |degrees: f64| degrees.to_radians() as f32;
        let trace = Trace {
            step_s: STEP_S,
            leader: times().map(|t| radians(leader(t))).collect(),
            error: times().map(|t| radians(follower(t) - leader(t))).collect(),
            segments: std::iter::once(0..250).collect(),
            ..Trace::default()
        };
        carried_off(&trace, 1.0)
    }

    fn sway(t: f64) -> f64 {
        30.0 * (1.7 * t).sin()
    }

    /// Sinks by 25 degrees a second from 4 s on, until its torque is back.
    fn sinks(leader: impl Fn(f64) -> f64, until: f64) -> impl Fn(f64) -> f64 {
        move |t| if (4.0..until).contains(&t) { leader(4.0) - 25.0 * (t - 4.0) } else { leader(t) }
    }

    #[test]
    fn a_joint_that_sinks_is_off_by_what_it_sank() {
        let rests = |_: f64| 12.0;
        let found = found(rests, sinks(rests, 5.6));
        let [one] = found.as_slice() else { panic!("{found:?}") };
        assert!((f64::from(one.by).to_degrees() - 39.0).abs() < 1.5, "{one:?}");
        // Off by 8 degrees from 4.32 s on.
        assert!((one.points.start as f64 * STEP_S - 4.32).abs() < 0.1, "{one:?}");
        assert!((one.points.end as f64 * STEP_S - 5.6).abs() < 0.1, "{one:?}");
        // A constant offset is no way that it went.
        let offset = |t: f64| sinks(rests, 5.6)(t) + 15.0;
        assert_eq!(super::tests::found(rests, offset).len(), 1);
    }

    #[test]
    fn one_that_overtakes_its_leader_is_found_too() {
        let slow = |t: f64| 5.0 * t;
        let falls =
            |t: f64| if (4.0..5.5).contains(&t) { 20.0 + 30.0 * (t - 4.0) } else { slow(t) };
        assert_eq!(found(slow, falls).len(), 1);
    }

    #[test]
    fn what_is_late_held_or_stretched_is_not_carried_off() {
        assert!(found(sway, |t| sway(t - 0.5)).is_empty());
        assert!(found(sway, |t| sway(t).min(-5.0)).is_empty());
        assert!(found(sway, |t| 1.8 * sway(t)).is_empty());
        assert!(found(sway, |t| sway(t) + 40.0).is_empty());
        let stands = |t: f64| if (4.0..6.0).contains(&t) { sway(4.0) } else { sway(t) };
        assert!(found(sway, stands).is_empty());
        // A finger that closes on what it grips goes a little, then stands.
        let closes = |t: f64| if t < 4.8 { 0.0 } else { (120.0 * (t - 4.8)).min(80.0) };
        assert!(found(closes, |t| closes(t).min(20.0)).is_empty());
    }

    #[test]
    fn a_jump_and_a_push_of_a_hand_are_not() {
        let rests = |_: f64| 12.0;
        assert!(found(rests, |t| if t > 4.0 && t < 5.0 { 72.0 } else { 12.0 }).is_empty());
        assert!(found(rests, sinks(rests, 4.7)).is_empty(), "17 degrees");
        let turned = |t: f64| if t > 4.0 { 372.0 } else { 12.0 };
        assert!(found(rests, turned).is_empty());
    }
}
