//! The rig, from what is declared and what the survey shows.

use std::sync::Arc;

use super::arms;
use super::columns::{Columns, Vectors};
use super::declared::{Declared, DeclaredJoint};
use super::error::SourceError;
use super::robust::median;
use super::scale::Scale;
use super::survey::Sample;
use super::words::is_gripper;
use super::{clock, grid};
use crate::model::{AngleUnit, ClockStorage, Joint, Rig};

/// Counts of a turn of the encoders usual on such arms, 12 bits. Common practice, no source.
const USUAL_PER_TURN: f64 = 4096.0;
/// Joints that go beyond this are not in radians: it is more than a full turn.
const BEYOND_RADIANS: f64 = 7.0;
/// Whole numbers that go beyond this are not in degrees.
const BEYOND_DEGREES: f64 = 400.0;

/// The joints by name, with what is declared of them.
pub(super) fn joints(
    columns: &Columns,
    declared: &Declared,
    widths: &[usize],
) -> Result<Vec<Joint>, SourceError> {
    let found: usize = widths.iter().sum();
    if !declared.joints.is_empty() && declared.joints.len() != found {
        let role = columns.choices.iter().find(|c| c.role == "state");
        return Err(SourceError::JointCount {
            declared: declared.joints.len(),
            column: role.map(|c| c.columns.join(", ")).unwrap_or_default(),
            found,
        });
    }
    let names = names(&columns.state, widths);
    let joint = |(number, name): (usize, String)| {
        let Some(said) = declared.joints.get(number) else {
            let gripper = is_gripper(&name);
            return Joint { gripper, ..Joint::named(name) };
        };
        let DeclaredJoint { lower, upper, max_speed, max_effort, max_temperature, linear, .. } =
            *said;
        let name = if said.name.is_empty() { name } else { said.name.clone() };
        let gripper = said.gripper.unwrap_or_else(|| is_gripper(&name));
        Joint {
            lower,
            upper,
            max_speed,
            max_effort,
            max_temperature,
            arm: said.arm.as_deref().map(Arc::from),
            stored_range: said.range,
            gripper,
            linear,
            ..Joint::named(name)
        }
    };
    let mut joints: Vec<Joint> = names.into_iter().enumerate().map(joint).collect();
    if declared.joints.is_empty() {
        guess_grippers(&mut joints);
    }
    arms::name(&mut joints);
    Ok(joints)
}

/// The joints as they are known from other data of the rig; those of this table must be the same.
pub(super) fn known_joints(found: &[Joint], known: &Rig) -> Result<Vec<Joint>, SourceError> {
    let names = |joints: &[Joint]| joints.iter().map(|j| j.name.clone()).collect::<Vec<_>>();
    let (here, there) = (names(found), names(&known.joints));
    if here == there {
        return Ok(known.joints.clone());
    }
    let (here, there) = (here.join(", "), there.join(", "));
    Err(SourceError::OtherRig(format!("its joints are {here}, those of the rig {there}")))
}

/// Where nobody named the joints of an arm, the last is taken for its gripper (common practice, no
/// source): a grasp looks like a joint at its stop. Twelve, fourteen or sixteen joints are two arms.
fn guess_grippers(joints: &mut [Joint]) {
    let unnamed = joints.iter().enumerate().all(|(n, joint)| joint.name == format!("j{n}"));
    let arms = match joints.len() {
        5..=8 => 1,
        12 | 14 | 16 => 2,
        _ => 0,
    };
    if unnamed && arms > 0 {
        let arm = joints.len() / arms;
        for joint in joints.iter_mut().skip(arm - 1).step_by(arm) {
            joint.gripper = true;
            joint.gripper_by_place = true;
        }
    }
}

/// Names from the field's metadata, the struct's fields or the columns; else `j0`, `j1`, ….
fn names(state: &Vectors, widths: &[usize]) -> Vec<String> {
    let joints: usize = widths.iter().sum();
    if state.names.len() == joints {
        return state.names.clone();
    }
    let mut names: Vec<String> = Vec::with_capacity(joints);
    for (part, &width) in state.parts.iter().zip(widths) {
        match &part.name {
            // `follower_3`: a bare number is no name.
            Some(name) if name.bytes().all(|c| c.is_ascii_digit()) => {
                names.push(format!("j{name}"));
            }
            Some(name) => names.push(name.clone()),
            None => names
                .extend((0..width).map(|i| format!("j{}", names.len() + i)).collect::<Vec<_>>()),
        }
    }
    names
}

/// The unit of the joint values: declared, else by their size, the grippers left out.
pub(super) fn unit(
    columns: &Columns,
    declared: &Declared,
    joints: &[Joint],
    samples: &[Sample],
) -> AngleUnit {
    if let Some(unit) = declared.unit {
        return unit;
    }
    let largest = |joint: usize| {
        let all = samples.iter().flat_map(|s| s.joint(joint)).filter(|v| v.is_finite());
        all.map(|v| f64::from(v.abs())).max_by(f64::total_cmp)
    };
    let arm = joints.iter().enumerate().filter(|(_, j)| !j.gripper && !j.linear);
    let typical = median(&mut arm.filter_map(|(n, _)| largest(n)).collect::<Vec<_>>());
    match typical {
        Some(size) if columns.state.integer() && size > BEYOND_DEGREES => {
            AngleUnit::Counts { per_turn: declared.counts_per_turn.unwrap_or(USUAL_PER_TURN) }
        }
        Some(size) if size > BEYOND_RADIANS => AngleUnit::Degree,
        _ => AngleUnit::Radian,
    }
}

/// Adds what the samples show of each joint: the sensor's count and the range seen.
pub(super) fn learn(
    joints: &mut [Joint],
    declared: &Declared,
    unit: AngleUnit,
    scales: &[Scale],
    samples: &[Sample],
) {
    for (number, joint) in joints.iter_mut().enumerate() {
        let Scale { factor, offset } = scales[number];
        joint.count = match (declared.counts_per_turn, unit) {
            (Some(per_turn), _) if !joint.linear => std::f64::consts::TAU / per_turn,
            (_, AngleUnit::Counts { .. }) => factor,
            _ => grid::count(samples.iter().map(|s| s.joint(number))) * factor,
        };
        let all = samples.iter().flat_map(|s| s.joint(number)).filter(|v| v.is_finite());
        joint.observed = all.map(|v| f64::from(*v) * factor).fold(None, |range, v| {
            let v = v + offset;
            let (least, largest) = range.unwrap_or((v, v));
            Some((v.min(least), v.max(largest)))
        });
    }
}

/// The clock: how stamps are stored and the frame period.
pub(super) fn clock(
    columns: &Columns,
    declared: &Declared,
    step_s: Option<f64>,
    per_second: f64,
) -> (ClockStorage, f64) {
    match &columns.time {
        Some(time) => {
            let period_s = clock::period_s(step_s, declared.rate_hz);
            (clock::storage(time, per_second), period_s)
        }
        None => (ClockStorage::None, clock::period_s(None, declared.rate_hz)),
    }
}

/// Puts the rig together.
pub(super) fn assemble(
    joints: Vec<Joint>,
    declared: &Declared,
    unit: AngleUnit,
    (clock, period_s): (ClockStorage, f64),
    notices: Vec<String>,
) -> Rig {
    let (rate_hz, unit_declared) = (declared.rate_hz, declared.unit.is_some());
    let extras = Vec::new();
    Rig { joints, rate_hz, period_s, clock, unit, unit_declared, notices, extras }
}
