//! Where something held the follower while the leader went on: contact.
//!
//! A tool on a table, a finger on what it grips: the follower stands, the error grows on one side
//! as the leader goes on, and is gone once the leader is back where it was. Neither neutral points
//! nor ranges can be read there. Backlash is not taken for it: there the follower goes on in the
//! leader's direction, and the error stays. Nor is a lost torque or a held reading: there the
//! follower jumps back to the leader.

use std::ops::Range;

use super::thinned::Trace;

const DEGREE: f64 = std::f64::consts::PI / 180.0;
/// A follower slower than this stands ...
const STANDS: f64 = 3.0 * DEGREE;
/// ... and so does one that takes less than this share of the leader's speed: what gives way a
/// little.
const GIVES_WAY: f32 = 0.4;
/// The leader goes on by more than this: 1.5 degrees (3 mm) ...
const DEPTH: f64 = 1.5 * DEGREE;
/// ... and by more than this, beyond usual backlash, where that is so on both sides: a hand that
/// turns round within the backlash meets nothing.
const BEYOND_PLAY: f64 = 2.5 * DEGREE;
/// Share that one side has of the other where both are meant.
const BOTH_SIDES: f32 = 0.3;
/// Nobody pushes on by more than 40 degrees (80 mm): such a joint does not answer.
const MOST: f64 = 40.0 * DEGREE;
/// Points whose error is off by less than this are free.
const EDGE: f64 = 0.5 * DEGREE;
/// Share of the depth by which the error may be off the other way, or after it.
const ONE_SIDED: f32 = 0.3;
const RETURNED: f32 = 0.35;
/// Over the three points at its end the follower goes no farther than this many times the leader,
/// and by this more: a drive that gets its torque back, and a reading that comes back, catch up.
const CATCHES_UP: f32 = 1.3;
const SLACK: f64 = 1.5 * DEGREE;
/// What is not seen to begin, or to end, must be deeper than backlash: 4 degrees (8 mm).
const OPEN: f64 = 4.0 * DEGREE;

/// A stretch of points in which something held the follower.
#[derive(Debug, Clone, PartialEq)]
pub struct Hold {
    /// The points.
    pub points: Range<usize>,
    /// Whether it is known to end: the leader came back, and the follower went with it again.
    pub let_go: bool,
    /// How far the error is off most, with its sign.
    depth: f32,
}

impl Trace {
    /// Every stretch in which something held the follower. `unit` is a radian's worth.
    pub(in crate::check::study) fn holds(&self, unit: f64) -> Vec<Hold> {
        let mut found = Vec::new();
        let depth = (DEPTH * unit) as f32;
        for segment in &self.segments {
            // Most joints are in contact with nothing, and never far off their leader.
            let error = &self.error[segment.clone()];
            let (low, high) = error.iter().fold((f32::MAX, f32::MIN), |(low, high), e| {
                (if *e < low { *e } else { low }, if *e > high { *e } else { high })
            });
            if high - low >= depth {
                self.holds_of(segment, unit, &mut found);
            }
        }
        let sum =
            |sign: f32| found.iter().map(|hold: &Hold| (sign * hold.depth).max(0.0)).sum::<f32>();
        let (up, down) = (sum(1.0), sum(-1.0));
        if up.min(down) > BOTH_SIDES * up.max(down) {
            found.retain(|hold| hold.depth.abs() >= (BEYOND_PLAY * unit) as f32);
        }
        found
    }

    fn holds_of(&self, segment: &Range<usize>, unit: f64, found: &mut Vec<Hold>) {
        let goes: Vec<bool> =
            segment.clone().map(|at| self.follower_goes(at, segment, unit)).collect();
        // One point alone is noise of the sensor.
        let free = |at: usize| {
            let near = |other: Option<&bool>| other.copied().unwrap_or(false);
            goes[at] && (near(at.checked_sub(1).map(|b| &goes[b])) || near(goes.get(at + 1)))
        };
        let mut at = 0;
        while at < goes.len() {
            if free(at) {
                at += 1;
                continue;
            }
            let start = at;
            while at < goes.len() && !free(at) {
                at += 1;
            }
            found.extend(self.hold(segment, segment.start + start..segment.start + at, unit));
        }
    }

    /// Whether the follower moves as the leader does, or on its own.
    fn follower_goes(&self, at: usize, segment: &Range<usize>, unit: f64) -> bool {
        let before = at.max(segment.start + 1) - 1;
        let after = (at + 1).min(segment.end - 1);
        let moved = self.follower(after) - self.follower(before);
        let speed = moved.abs() / ((after - before).max(1) as f32 * self.step_s as f32);
        speed >= (STANDS * unit) as f32 && speed >= GIVES_WAY * self.speed[at].abs()
    }

    fn follower(&self, at: usize) -> f32 {
        self.leader[at] + self.error[at]
    }

    /// The hold within points at which the follower stands, if it is one.
    fn hold(&self, segment: &Range<usize>, stands: Range<usize>, unit: f64) -> Option<Hold> {
        // Where points are few, the last one before may be in contact already: the error is that of
        // the two points before, and after, which is farther from the error in the middle.
        let middle = self.error[usize::midpoint(stands.start, stands.end - 1)];
        let usual = |points: Range<usize>| {
            let off = |at: &usize| (self.error[*at] - middle).abs();
            let farthest = points.max_by(|a, b| off(a).total_cmp(&off(b)));
            farthest.map(|at| self.error[at])
        };
        let start = stands.start.max(segment.start + 2) - 2;
        let before = usual(start..stands.start).filter(|_| stands.start > segment.start);
        let after = usual(stands.end..(stands.end + 2).min(segment.end));
        let (from, to) = (before.or(after)?, after.or(before)?);
        let whole = start.max(stands.start.saturating_sub(1))..(stands.end + 1).min(segment.end);
        let steps = (whole.len() + 1) as f32;
        let off = |at: usize| {
            let share = (at + 1 - whole.start) as f32 / steps;
            self.error[at] - from - share * (to - from)
        };
        let (mut low, mut high) = (0.0f32, 0.0f32);
        for at in whole.clone() {
            (low, high) = (low.min(off(at)), high.max(off(at)));
        }
        let (mut nearest, mut farthest) = (f32::INFINITY, f32::NEG_INFINITY);
        for at in stands.clone() {
            let follower = self.follower(at);
            (nearest, farthest) = (nearest.min(follower), farthest.max(follower));
        }
        let (depth, other) = if -low > high { (-low, high) } else { (high, -low) };
        let both = before.is_some() && after.is_some();
        let held = depth >= (if both { DEPTH } else { OPEN } * unit) as f32
            && depth <= (MOST * unit) as f32
            && other <= ONE_SIDED * depth
            && (to - from).abs() <= RETURNED * depth
            && farthest - nearest <= GIVES_WAY * depth;
        let (last, then) = (stands.end - 1, (stands.end + 2).min(segment.end - 1));
        let leader = (self.leader[then] - self.leader[last]).abs();
        let follower = (self.follower(then) - self.follower(last)).abs();
        if !held || follower > CATCHES_UP * leader + (SLACK * unit) as f32 {
            return None;
        }
        let edge = (EDGE * unit) as f32;
        let beyond = |at: &usize| off(*at).abs() > edge;
        let first = whole.clone().find(beyond)?;
        let end = whole.clone().rev().find(beyond)? + 1;
        let depth = if -low > high { -depth } else { depth };
        Some(Hold { points: first..end, let_go: after.is_some(), depth })
    }

    /// The trace without these stretches.
    pub(in crate::check::study) fn without(&self, holds: &[Hold]) -> Self {
        let mut free = Self { step_s: self.step_s, ..Self::default() };
        for segment in &self.segments {
            let mut start = segment.start;
            let inside = holds.iter().filter(|hold| segment.contains(&hold.points.start));
            let ends = inside
                .map(|hold| hold.points.clone())
                .chain(std::iter::once(segment.end..segment.end));
            for hold in ends {
                free.take(self, start..hold.start);
                start = hold.end;
            }
        }
        free
    }

    fn take(&mut self, from: &Self, points: Range<usize>) {
        if points.is_empty() {
            return;
        }
        let first = self.at.len();
        self.at.extend_from_slice(&from.at[points.clone()]);
        self.leader.extend_from_slice(&from.leader[points.clone()]);
        self.error.extend_from_slice(&from.error[points.clone()]);
        self.speed.extend_from_slice(&from.speed[points.clone()]);
        self.bend.extend_from_slice(&from.bend[points]);
        self.segments.push(first..self.at.len());
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const STEP_S: f64 = 0.04;

    /// Ten seconds of a leader and what its follower makes of it, in degrees.
    fn trace(leader: impl Fn(f64) -> f64, follower: impl Fn(f64) -> f64) -> Trace {
        let times = || (0..250).map(|at| f64::from(at) * STEP_S);
        let radians = |degrees: f64| degrees.to_radians() as f32;
        let speed = |t: f64| (leader(t + 0.05) - leader(t - 0.05)) / 0.1;
        Trace {
            step_s: STEP_S,
            at: (0..250).collect(),
            leader: times().map(|t| radians(leader(t))).collect(),
            error: times().map(|t| radians(follower(t) - leader(t))).collect(),
            speed: times().map(|t| radians(speed(t))).collect(),
            bend: vec![0.0; 250],
            side: Vec::new(),
            segments: std::iter::once(0..250).collect(),
        }
    }

    fn sway(t: f64) -> f64 {
        30.0 * (1.7 * t).sin()
    }

    fn held_s(trace: &Trace) -> f64 {
        trace.holds(1.0).iter().map(|hold| hold.points.len() as f64 * STEP_S).sum()
    }

    #[test]
    fn a_stop_holds_as_long_as_the_leader_is_beyond() {
        for stop_deg in [-10.0, 5.0, 15.0, 24.0] {
            let met = trace(sway, |t| sway(t).min(stop_deg));
            let beyond = (0..250).filter(|at| sway(f64::from(*at) * STEP_S) > stop_deg + 0.5);
            let beyond_s = beyond.count() as f64 * STEP_S;
            assert!((held_s(&met) - beyond_s).abs() < 0.4, "{stop_deg}: {}", held_s(&met));
            assert!(met.holds(1.0).iter().any(|hold| hold.let_go));
            let free = met.without(&met.holds(1.0));
            let most = free.error.iter().fold(0.0f32, |most, e| most.max(e.abs()));
            assert!(most.to_degrees() < 1.0, "{stop_deg}: {most}");
            assert!(free.segments.iter().all(|part| part.end <= free.at.len()));
        }
        // What gives way by a fifth holds too.
        assert!(held_s(&trace(sway, |t| sway(t).min(10.0 + 0.2 * (sway(t) - 10.0)))) > 2.0);
    }

    #[test]
    fn an_offset_a_gain_and_backlash_hold_nothing() {
        let slack = |half: f64| {
            move |t: f64| {
                let steps = (t / 1e-3) as i64;
                (0..=steps).fold(0.0, |at: f64, step| {
                    let motor = sway(step as f64 * 1e-3);
                    at.clamp(motor - half, motor + half)
                })
            }
        };
        assert_eq!(held_s(&trace(sway, |t| sway(t) + 8.0)), 0.0);
        for gain in [0.6, 0.9, 1.13, 1.5] {
            assert_eq!(held_s(&trace(sway, move |t| gain * sway(t))), 0.0, "{gain}");
        }
        for half in [0.5, 1.5, 3.0] {
            assert_eq!(held_s(&trace(sway, slack(half))), 0.0, "{half}");
        }
    }

    #[test]
    fn a_lost_torque_and_a_held_reading_are_no_contact() {
        let lost = |from: f64, to: f64| {
            move |t: f64| if (from..to).contains(&t) { sway(from) } else { sway(t) }
        };
        // Where the leader happens to come back as the torque does, nobody can tell it from
        // contact.
        for (from, to) in [(2.0, 3.0), (3.9, 4.4), (6.0, 6.4)] {
            assert_eq!(held_s(&trace(sway, lost(from, to))), 0.0, "{from}");
        }
    }
}
