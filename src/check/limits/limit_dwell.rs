//! A joint that stands at a mechanical or soft limit while the leader pushes on.
//!
//! The follower has run out of travel and the demonstration goes on without it: state and action
//! part company, and the motor heats at the stop.
//!
//! How: frames in which the follower is within three counts of a limit (declared, or else the
//! largest or smallest position seen in the session) and the leader, aligned for lag and offset, is
//! more than 2 degrees (4 mm) beyond it; in runs over which the leader moves while the follower
//! does not; as a share of all frames. The largest and smallest position of the episode itself count
//! as limits too (a stop nobody declared), but there the leader must be twice as far beyond, and no
//! episode of the session may go farther.
//!
//! Traps: standing at a limit is no fault: a home pose may lie at a stop. The outward push is
//! required, and the leader must have moved on while the follower stayed, so that a constant
//! offset or sag is not taken for a push. A joint that is frozen or blocked in the middle of its range
//! is at no limit: the session goes beyond. Where no limit is declared and the leader is more than 15
//! degrees (30 mm) beyond, something else stopped the joint, and the run is left to other checks.
//! Where another joint stands so in the same episode, or stands still 4 degrees off its leader at once, an
//! object stops them. A finger is stopped by what it holds, every time at the same place: it is assessed
//! where its limits are declared. Grippers are left out: pushing is how they hold.

use std::ops::Range;

use crate::check::prelude::{Check, Params, Study};
use crate::check::study::range;
use crate::model::{
    CheckSpec, Family, FrameSpan, Joint, JointId, Metric, Param, Sheet, SpanList, Unit,
};

const PUSH_RAD: f64 = 2.0 * std::f64::consts::PI / 180.0;
/// Nobody pushes farther past a limit that was not declared.
const MOST_PUSH_DEG: f64 = 15.0;

static DWELL_SHARE: Metric = Metric::of_joint(
    "dwell_share",
    Unit::Share,
    "share of frames at a limit with the leader pushing outward",
)
.above(Some(0.01), Some(0.05));
static LOWEST: Metric =
    Metric::of_joint("lowest", Unit::Radian, "smallest measured position").feature();
static HIGHEST: Metric =
    Metric::of_joint("highest", Unit::Radian, "largest measured position").feature();

static PUSH: Param = Param {
    id: "push_rad",
    summary: "how far the leader must be beyond the follower (for linear joints: 2 mm a degree)",
    unit: Unit::Radian,
    default: PUSH_RAD,
};

static SPEC: CheckSpec = CheckSpec {
    id: "limit-dwell",
    family: Family::Limits,
    applies_to: crate::model::SignalKind::BOUNDED,
    needs: crate::model::Relation::Target,
    advisory: false,
    source: include_str!("limit_dwell.rs"),
    cause: "the follower is at the end of its travel and the leader is not",
    remedy: "calibrate the range of both arms again, or move the task away from the limit",
    reference: "common practice, no source",
    metrics: &[&DWELL_SHARE, &LOWEST, &HIGHEST],
    params: &[&PUSH],
};

/// The check; the head of this file is its manual.
pub static CHECK: Check = Check::of_episode(&SPEC, measure);

fn measure(study: &Study<'_>, params: &Params, sheet: &mut Sheet) {
    let push_rad = params.get(&SPEC, &PUSH);
    let mut all: Vec<(usize, Vec<Dwell>)> = Vec::new();
    for joint in 0..study.joints().len() {
        let (low, high) = study.state_range(joint);
        sheet.put_joint(&LOWEST, joint, f64::from(low));
        sheet.put_joint(&HIGHEST, joint, f64::from(high));
        let described = &study.joints()[joint];
        if described.gripper_by_place {
            sheet.not_assessed_joint(joint, Joint::GRIPPER_BY_PLACE);
        }
        if described.gripper {
            continue;
        }
        if is_finger(described) && described.lower.or(described.upper).is_none() {
            sheet.not_assessed_joint(joint, A_FINGER);
            continue;
        }
        let push = if described.linear { push_rad.to_degrees() * 0.002 } else { push_rad };
        let Some(stand) = Stand::of(study, joint) else { continue };
        let observed = described.observed.unwrap_or((f64::INFINITY, f64::NEG_INFINITY));
        let upper = described.upper.unwrap_or(f64::from(high).max(observed.1));
        let lower = described.lower.unwrap_or(f64::from(low).min(observed.0));
        // A joint that does not move has no end of travel to show: it is dead, not stopped.
        let still = f64::from(high - low) <= 2.0 * stand.near;
        let mut runs = Vec::new();
        let session = described.observed;
        for (sign, reached, limit, declared, session) in [
            (1.0, f64::from(high), upper, described.upper.is_some(), session.map(|s| s.1)),
            (-1.0, -f64::from(low), -lower, described.lower.is_some(), session.map(|s| -s.0)),
        ] {
            let known = reached >= limit - stand.near;
            let declared = known && declared;
            if still && !declared {
                continue;
            }
            // A stop that nobody declared: no episode goes beyond.
            let beyond = !known && session.is_some_and(|end| reached < end - stand.near);
            let push = if known { push } else { 2.0 * push };
            if !stand.can_push(sign, study.action_range(joint), reached, push) {
                continue;
            }
            let most = if declared { f64::INFINITY } else { study.size(joint, MOST_PUSH_DEG) };
            stand.pushes((sign, if known { limit } else { reached }), push, &mut |mut run, far| {
                (run.declared, run.at_limit) = (declared, !beyond && far <= most);
                runs.push(run);
            });
        }
        all.push((joint, runs));
    }
    for (joint, runs) in &all {
        let own =
            || runs.iter().filter(|run| run.at_limit && !is_contact(study, *joint, run, &all));
        let pushed: usize = own().map(|run| run.pushed).sum();
        let share = pushed as f64 / study.episode.frames().max(1) as f64;
        let spans = SpanList::longest(own().map(|run| run.span));
        sheet.put_spans(&DWELL_SHARE, Some(*joint as JointId), share, spans);
    }
    if study.episode.action.is_none() {
        sheet.not_assessed("no leader column");
    }
}

/// Words in the name of a finger's joint.
const FINGERS: [&str; 7] = ["thumb", "index", "middle", "ring", "little", "pinky", "finger"];
/// Why a finger is not looked at.
const A_FINGER: &str = "what a finger holds stops it like an end of travel: declare its limits";

fn is_finger(joint: &Joint) -> bool {
    let words = joint.name.split(|letter: char| !letter.is_ascii_alphabetic());
    words.map(str::to_ascii_lowercase).any(|word| FINGERS.contains(&word.as_str()))
}

/// A run at a limit, or at the farthest position of the episode.
#[derive(Debug, Clone, Copy)]
struct Dwell {
    span: FrameSpan,
    /// Frames in which the leader pushes.
    pushed: usize,
    /// Whether the limit was declared, or only seen.
    declared: bool,
    /// Whether it may be an end of travel.
    at_limit: bool,
}

/// Whether another joint stands in this episode where nobody declared a limit, or stands still in the same
/// frames twice a push off its leader: an object stops several joints, an end of travel one.
fn is_contact(study: &Study<'_>, joint: usize, run: &Dwell, all: &[(usize, Vec<Dwell>)]) -> bool {
    let with = |other: &Dwell| !other.declared;
    let held = |other: usize| {
        let limit = study.size(other, 2.0 * PUSH_RAD.to_degrees());
        Stand::of(study, other).is_some_and(|stand| stand.is_held(run.span, limit))
    };
    let mut others = all.iter().filter(|(other, _)| *other != joint);
    !run.declared && others.any(|(other, runs)| runs.iter().any(with) || held(*other))
}

/// One joint's signals, ready to be looked at for pushing.
struct Stand<'a> {
    follower: &'a [f32],
    leader: &'a [f32],
    /// Rows by which the follower is later.
    lag: isize,
    /// Usual follower minus leader.
    offset: f64,
    near: f64,
}

impl<'a> Stand<'a> {
    fn of(study: &'a Study<'_>, joint: usize) -> Option<Self> {
        let leader = study.action(joint)?;
        let following = study.following();
        let period_s = study.episode.rig.period_s;
        let lag = if period_s > 0.0 { following.lag_s(joint) / period_s } else { 0.0 };
        let aligned = following.joints.get(joint).and_then(Option::as_ref);
        let offset = aligned.map_or(0.0, |a| if a.offset.is_finite() { a.offset } else { 0.0 });
        Some(Self {
            follower: study.state(joint),
            leader,
            lag: lag.round() as isize,
            offset,
            near: 3.0 * study.count(joint),
        })
    }

    /// Whether the follower stands still over the second half of these frames, so far off its leader.
    fn is_held(&self, span: FrameSpan, limit: f64) -> bool {
        let (middle, end) = ((span.start + span.end) as usize / 2, span.end as usize);
        let (low, high) = range(&self.follower[middle..end]);
        f64::from(high - low) <= self.near && self.excess(middle).abs() > limit
    }

    /// Leader, lag taken out, less follower, the usual difference taken out.
    fn excess(&self, row: usize) -> f64 {
        let from = (row as isize - self.lag).clamp(0, self.leader.len() as isize - 1) as usize;
        f64::from(self.leader[from]) - f64::from(self.follower[row]) + self.offset
    }

    /// Whether the leader ever is far enough beyond what the follower reached: mostly not, and then
    /// no frame need be looked at.
    fn can_push(&self, sign: f64, leader: Option<(f32, f32)>, reached: f64, push: f64) -> bool {
        let Some((low, high)) = leader else { return false };
        let most = if sign > 0.0 { f64::from(high) } else { -f64::from(low) };
        most - (reached - self.near) + sign * self.offset > push
    }

    /// Runs at the limit on the side of `sign` (with positions and limit mirrored for the lower
    /// one), each with the number of its frames in which the leader pushes.
    fn pushes(&self, (sign, limit): (f64, f64), push: f64, found: &mut impl FnMut(Dwell, f64)) {
        let frames = self.follower.len();
        let at_limit = |row: usize| sign * f64::from(self.follower[row]) >= limit - self.near;
        let mut row = 0;
        while row < frames {
            if !at_limit(row) {
                row += 1;
                continue;
            }
            let start = row;
            while row < frames && at_limit(row) {
                row += 1;
            }
            if let Some((run, far)) = self.pushed(sign, start..row, push) {
                found(run, far);
            }
        }
    }

    /// The run, if the leader pushes in it, and how far beyond the follower it is at most.
    fn pushed(&self, sign: f64, run: Range<usize>, push: f64) -> Option<(Dwell, f64)> {
        let (mut pushed, mut farthest) = (0, 0.0f64);
        let (mut smallest, mut most) = (f64::INFINITY, f64::NEG_INFINITY);
        for row in run.clone() {
            let from = (row as isize - self.lag).clamp(0, self.leader.len() as isize - 1) as usize;
            let leader = sign * f64::from(self.leader[from]);
            (smallest, most) = (smallest.min(leader), most.max(leader));
            let excess = leader - sign * f64::from(self.follower[row]) + sign * self.offset;
            pushed += usize::from(excess > push);
            farthest = farthest.max(excess);
        }
        let span = FrameSpan::new(run.start, run.end);
        let dwell = Dwell { span, pushed, declared: false, at_limit: false };
        (pushed > 0 && most - smallest > push).then_some((dwell, farthest))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::testing::{Bench, sway};

    fn stop_at(limit_deg: f64, lag_s: f64) -> impl Fn(usize, f64) -> f64 {
        move |joint, t| {
            let free = sway(joint, t - lag_s);
            if joint == 0 { free.min(limit_deg.to_radians()) } else { free }
        }
    }

    #[test]
    fn a_stop_within_the_motion_is_found_with_its_share() {
        for rate_hz in [25.0, 30.0, 50.0, 100.0, 200.0] {
            let bench = Bench::at(rate_hz)
                .seconds(20.0)
                .follower(stop_at(22.0, 0.08))
                .rig(|rig| rig.joints[0].observed = Some((-0.6, 22f64.to_radians())))
                .measure(&CHECK);
            // The leader is beyond 24 of its 30 degrees for acos(0.8) / pi of the time.
            let share = 0.8f64.acos() / std::f64::consts::PI;
            let read = bench.joint("dwell_share", 0);
            assert!((read - share).abs() < 0.02, "{rate_hz} Hz: {read} for {share}");
            assert_eq!(bench.joint("dwell_share", 1), 0.0);
        }
    }

    #[test]
    fn a_stop_that_nobody_declared_is_found_as_well() {
        let bench = Bench::at(30.0)
            .seconds(20.0)
            .follower(stop_at(20.0, 0.08))
            .rig(|rig| {
                rig.joints[0].lower = Some(-1.9);
                rig.joints[0].upper = Some(1.9);
                rig.joints[0].observed = Some((-0.6, 20f64.to_radians()));
            })
            .measure(&CHECK);
        // Beyond 24 of 30 degrees again: twice the push from 20 degrees on.
        let share = 0.8f64.acos() / std::f64::consts::PI;
        assert!((bench.joint("dwell_share", 0) - share).abs() < 0.03, "{bench:?}");
    }

    /// Blocked at 5 degrees, and frozen 47 degrees off its leader's path, in a session that goes beyond
    /// either, or never does.
    #[test]
    fn a_joint_blocked_or_frozen_in_mid_range_is_at_no_limit() {
        for rate_hz in [25.0, 100.0, 500.0] {
            let frozen = |joint: usize, t: f64| {
                sway(joint, if joint == 0 && (3.6..5.1).contains(&t) { 3.6 } else { t } - 0.08)
            };
            let far = |joint: usize, t: f64| 2.0 * sway(joint, t);
            let read = |observed: f64, bench: Bench| {
                let bench = bench.rig(move |rig| rig.joints[0].observed = Some((-1.1, observed)));
                bench.measure(&CHECK).joint("dwell_share", 0)
            };
            let sound = || Bench::at(rate_hz).seconds(12.0);
            assert_eq!(read(0.5, sound().follower(stop_at(5.0, 0.08))), 0.0, "{rate_hz} Hz");
            let frozen = sound().leader(far).follower(move |joint, t| 2.0 * frozen(joint, t));
            assert_eq!(read(1.1, frozen), 0.0, "{rate_hz} Hz");
            // Held at the largest position of all, while the leader is 30 degrees beyond.
            let stopped = sound().leader(far).follower(move |joint, t| {
                let free = far(joint, t - 0.08);
                if joint == 0 { free.min(0.5) } else { free }
            });
            assert_eq!(read(0.5, stopped), 0.0, "{rate_hz} Hz");
        }
    }

    /// Three joints that stop at 22 degrees at once, where no limit is declared, and where all are.
    #[test]
    fn several_joints_at_once_are_stopped_by_an_object() {
        let read = |declared: Option<f64>| {
            let same = |_: usize, t: f64| sway(0, t);
            let bench = Bench::at(30.0).seconds(20.0).leader(same);
            let bench = bench.follower(move |_, t| sway(0, t - 0.08).min(22f64.to_radians()));
            let bench = bench.rig(move |rig| {
                rig.joints.push(Joint::named("tip"));
                for joint in &mut rig.joints {
                    joint.observed = Some((-0.6, 22f64.to_radians()));
                    joint.upper = declared;
                }
            });
            let read = bench.measure(&CHECK);
            [0, 1, 2].map(|joint| read.joint("dwell_share", joint))
        };
        assert_eq!(read(None), [0.0; 3]);
        let stopped = read(Some(22f64.to_radians()));
        assert!(stopped.iter().all(|share| *share > 0.1), "{stopped:?}");
    }

    /// The tip of a finger on what it holds, alone: no limit, unless one is declared there.
    #[test]
    fn what_a_finger_holds_is_no_end_of_travel() {
        let read = |name: &'static str, upper: Option<f64>| {
            let bench = Bench::at(30.0).seconds(20.0).follower(stop_at(22.0, 0.08));
            let observed = Some((-0.6, 22f64.to_radians()));
            let named = move || Joint { upper, observed, ..Joint::named(name) };
            bench.rig(move |rig| rig.joints[0] = named()).measure(&CHECK)
        };
        let finger = read("hand_ring_2", None);
        assert!(finger.is_not_assessed("declare its limits"));
        assert!(finger.joint("dwell_share", 0).is_nan());
        assert!(read("hand_ring_2", Some(22f64.to_radians())).joint("dwell_share", 0) > 0.1);
        assert!(read("bearing_2", None).joint("dwell_share", 0) > 0.1);
    }

    #[test]
    fn a_dead_joint_is_at_no_limit_unless_one_is_declared_there() {
        let dead = |rig_upper: Option<f64>| {
            Bench::at(30.0)
                .seconds(20.0)
                .follower(|joint, t| if joint == 0 { 0.2 } else { sway(joint, t - 0.08) })
                .rig(move |rig| rig.joints[0].upper = rig_upper)
                .measure(&CHECK)
        };
        assert_eq!(dead(None).joint("dwell_share", 0), 0.0);
        assert_eq!(dead(Some(1.9)).joint("dwell_share", 0), 0.0);
        assert!(dead(Some(0.2)).joint("dwell_share", 0) > 0.2);
    }

    #[test]
    fn resting_at_a_stop_is_no_fault() {
        let rest = |joint: usize, t: f64| if t < 5.0 { 0.5 } else { sway(joint, t).min(0.5) };
        let bench = Bench::at(30.0)
            .seconds(12.0)
            .leader(rest)
            .rig(|rig| rig.joints[0].upper = Some(0.5))
            .measure(&CHECK);
        assert_eq!(bench.joint("dwell_share", 0), 0.0);
    }

    #[test]
    fn an_offset_at_a_held_extreme_is_no_push() {
        // Four degrees of offset, and the leader holds its largest position for a while.
        let hold =
            |joint: usize, t: f64| if (3.0..6.0).contains(&t) { 0.6 } else { sway(joint, t) };
        let bench = Bench::at(30.0)
            .seconds(12.0)
            .leader(hold)
            .follower(move |joint, t| hold(joint, t - 0.08) - 4f64.to_radians())
            .measure(&CHECK);
        assert_eq!(bench.joint("dwell_share", 0), 0.0);
    }
}
