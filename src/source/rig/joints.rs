//! The joints: their names, and what is declared of them.

use std::sync::Arc;

use crate::model::{Joint, Rig, cut};
use crate::source::declared::{Declared, DeclaredJoint};
use crate::source::error::SourceError;
use crate::source::rig::arms;
use crate::source::rig::naming::Names;
use crate::source::roles::parts::Vectors;
use crate::source::roles::words::is_gripper;

/// The joints by name, with what is declared of them. `shown` are the names of their columns.
pub(in crate::source) fn joints(
    state: &Vectors,
    shown: &[String],
    declared: &Declared,
    widths: &[usize],
) -> Result<Vec<Joint>, SourceError> {
    let found: usize = widths.iter().sum();
    if !declared.joints.is_empty() && declared.joints.len() != found {
        return Err(SourceError::JointCount {
            declared: declared.joints.len(),
            column: shown.join(", "),
            found,
        });
    }
    let names = names(state, widths).names;
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
            parked: said.parked,
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

/// Characters of the names that a message shows.
const NAMES: usize = 200;

/// The joints as they are known from other data of the rig; those of this table must be the same.
/// `stored` are the names of its stored numbers: where the rig is made of several of them, these are what
/// both have, whatever a profile calls the joints.
pub(in crate::source) fn known_joints(
    found: &[Joint],
    stored: Vec<String>,
    known: &Rig,
) -> Result<Vec<Joint>, SourceError> {
    let names = |joints: &[Joint]| joints.iter().map(|j| j.name.clone()).collect::<Vec<_>>();
    let (here, there) = match &known.stored {
        Some(as_stored) => (stored, as_stored.state.clone()),
        None => (names(found), names(&known.joints)),
    };
    if here == there {
        return Ok(known.joints.clone());
    }
    let (here, there) = (here.join(", "), there.join(", "));
    let (here, there) = (cut(&here, NAMES), cut(&there, NAMES));
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
pub(in crate::source) fn names(state: &Vectors, widths: &[usize]) -> Names {
    let joints: usize = widths.iter().sum();
    if state.names.len() == joints {
        return Names { names: unique(state.names.clone()), given: true };
    }
    let mut names: Vec<String> = Vec::with_capacity(joints);
    let given = state.parts.iter().all(|part| part.name.is_some() && !part.list);
    for (part, &width) in state.parts.iter().zip(widths) {
        match &part.name {
            Some(front) if part.list => names.extend((0..width).map(|i| format!("{front}_j{i}"))),
            // `follower_3`: a bare number is no name.
            Some(name) if name.bytes().all(|c| c.is_ascii_digit()) => {
                names.push(format!("j{name}"));
            }
            Some(name) => names.push(name.clone()),
            None => names
                .extend((0..width).map(|i| format!("j{}", names.len() + i)).collect::<Vec<_>>()),
        }
    }
    Names { names: unique(names), given }
}

/// Each name once: a profile, `--joint` and a report tell joints apart by it.
fn unique(names: Vec<String>) -> Vec<String> {
    let mut kept: Vec<String> = Vec::with_capacity(names.len());
    for (at, name) in names.into_iter().enumerate() {
        let name = if name.trim().is_empty() { format!("j{at}") } else { name };
        let numbered = (2..).map(|n| format!("{name}_{n}"));
        let free = std::iter::once(name.clone()).chain(numbered).find(|n| !kept.contains(n));
        kept.push(free.unwrap_or(name));
    }
    kept
}
