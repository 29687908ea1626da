//! The commands of the follower, and its mechanics, faults included.

use super::arm::{self, JointSpec, Part};
use super::disturbance::Disturbance;
use super::fault::Fault;
use super::plan::Plan;
use super::planted::{Mark, Mine};
use super::recipe::Recipe;
use super::servo::Drive;

/// A joint's own departures from the recipe, drawn once a session.
#[derive(Debug, Clone, Copy)]
pub(super) struct Make {
    /// Factor on the time constant.
    pub time_constant: f64,
    /// Factor on the backlash.
    pub backlash: f64,
}

/// The joint's drive in this episode; `marks` say when what affects it begins and ends.
pub(super) fn drive(
    recipe: &Recipe,
    spec: &JointSpec,
    make: Make,
    joint: usize,
    mine: &Mine<'_>,
    plan: &Plan,
    marks: &[Mark],
) -> Drive {
    let servo = &recipe.servo;
    let mut drive = Drive {
        dead_time_s: servo.dead_time_ms / 1e3,
        time_constant_s: servo.time_constant_ms / 1e3 * make.time_constant,
        speed_limit: servo.speed_limit_deg_s.to_radians(),
        acceleration_limit: servo.acceleration_limit_deg_s2.map(f64::to_radians),
        backlash: servo.backlash_deg.to_radians() * make.backlash,
        stops: (spec.lower_deg.to_radians(), spec.upper_deg.to_radians()),
        off_s: None,
        contact: plan.contact.filter(|_| spec.gripper),
        push: None,
        slowing_s: None,
        disturbance: Disturbance::default(),
    };
    for (planted, fault, at) in mine.iter() {
        let here = at == Some(joint);
        match *fault {
            Fault::LagAll { ms } => drive.dead_time_s += ms / 1e3,
            Fault::LagJoint { ms } if here => drive.dead_time_s += ms / 1e3,
            Fault::LagDrift { ms } => drive.slowing_s = Some((ms / 1e3, plan.end_s)),
            Fault::Backlash { deg } if here => drive.backlash = deg.to_radians(),
            Fault::LoadSurges { deg } if here => drive.disturbance.surges = deg.to_radians(),
            Fault::Hunting { deg, hertz } if here => {
                drive.disturbance.rests_s = plan.rests_s();
                drive.disturbance.hunting = (deg.to_radians(), hertz);
            }
            Fault::DeadJoint if here => drive.off_s = Some((f64::MIN, f64::MAX)),
            Fault::TrackingLoss { .. } if here || at.is_none() => {
                drive.off_s = span_of(marks, planted).map(|[a, b]| (a, b));
            }
            Fault::ExternalDisturbance { deg } if here => {
                let span = span_of(marks, planted);
                drive.push = span.map(|[a, b]| (a, b, deg.to_radians()));
            }
            Fault::LimitDwell { stop_deg: Some(stop), .. } if here => {
                let stop = stop.to_radians();
                let middle = f64::midpoint(drive.stops.0, drive.stops.1);
                if stop < middle {
                    drive.stops.0 = stop;
                } else {
                    drive.stops.1 = stop;
                }
            }
            _ => {}
        }
    }
    drive
}

/// Where the plan has set a fault.
fn span_of(marks: &[Mark], planted: usize) -> Option<[f64; 2]> {
    marks.iter().find(|m| m.planted == planted).and_then(|m| m.spans_s.first().copied())
}

/// Torque goes a little after the longest motion has begun: that of the joint, one of the arm's,
/// where it goes on one alone.
pub(super) fn lost_span(plan: &Plan, joint: Option<usize>, seconds: f64) -> Option<[f64; 2]> {
    let moved = joint.map_or_else(|| plan.longest_move(), |joint| plan.longest_move_of(joint));
    let start_s = moved.map(|s| s.start_s + 0.15 * s.duration_s)?;
    Some([start_s, start_s + seconds])
}

/// A stretch about the fastest moment of the longest motion.
pub(super) fn fast_span(plan: &Plan, seconds: f64) -> Option<[f64; 2]> {
    let middle_s = plan.longest_move().map(|s| s.start_s + 0.45 * s.duration_s)?;
    Some([middle_s - 0.5 * seconds, middle_s + 0.5 * seconds])
}

/// The target of a joint per cycle: the leader's reading through the mapping, minus what gravity
/// takes off it.
pub(super) fn targets(
    recipe: &Recipe,
    specs: &[JointSpec],
    joint: usize,
    leader: &[Vec<f64>],
    mine: &Mine<'_>,
) -> Vec<f64> {
    let mut target = leader[joint].clone();
    let per_arm = specs.len() / arm::arms(specs.len());
    let base = joint - joint % per_arm;
    let find = |part| (base..base + per_arm).find(|j| specs[*j].part == part).unwrap_or(base);
    let (shoulder, elbow) = (&leader[find(Part::Shoulder)], &leader[find(Part::Elbow)]);
    let part = specs[joint].part;
    let load = |frame: usize| arm::load(part, shoulder[frame], elbow[frame]);
    let bears_load = matches!(part, Part::Shoulder | Part::Elbow);

    for (_, fault, at) in mine.iter().filter(|(_, _, at)| *at == Some(joint)) {
        debug_assert_eq!(at, Some(joint), "faults of other joints are not this joint's");
        match *fault {
            Fault::NeutralOffset { deg } => {
                for value in &mut target {
                    *value += deg.to_radians();
                }
            }
            Fault::GainMismatch { factor } => {
                for value in &mut target {
                    *value *= factor;
                }
            }
            Fault::TrackingError { deg } => {
                let burden: Vec<f64> = if bears_load {
                    (0..target.len()).map(load).collect()
                } else {
                    leader[joint].clone()
                };
                droop(&mut target, &burden, deg.to_radians());
            }
            _ => {}
        }
    }
    if bears_load {
        let sag = recipe.servo.sag_deg.to_radians();
        for (frame, value) in target.iter_mut().enumerate() {
            *value -= sag * load(frame);
        }
    }
    target
}

/// Takes off the target by what a weak gain yields: `size` at the largest burden of the episode,
/// minus `size` at the smallest.
fn droop(target: &mut [f64], burden: &[f64], size: f64) {
    let min = burden.iter().copied().fold(f64::INFINITY, f64::min);
    let max = burden.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let span = (max - min).max(1e-9);
    for (value, weight) in target.iter_mut().zip(burden) {
        *value -= size * (2.0 * (weight - min) / span - 1.0);
    }
}
