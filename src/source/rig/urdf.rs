//! Limits of joints from a URDF file, for what the profile leaves unsaid.
//!
//! A URDF is in radians, metres and seconds, as the rig is. Joints are matched by name, never by
//! place: exactly, or else without regard to case, `_` and `-`.

use std::io::ErrorKind;
use std::path::Path;

use urdf_rs::{JointLimit, JointType};

use crate::model::Joint;
use crate::source::declared::{Declared, DeclaredJoint};
use crate::source::error::SourceError;
use crate::source::rig::notice::{Names, Notice};
use crate::source::text_file;

/// Adds to each joint the limits that are not declared. Returns which were found and which not.
pub(in crate::source) fn add(
    joints: &mut [Joint],
    declared: &Declared,
    path: &Path,
) -> Result<Vec<Notice>, SourceError> {
    let file = path.file_name().map_or_else(String::new, |n| n.to_string_lossy().into_owned());
    let described = moving(path)?;
    let (mut found, mut unmatched, mut unlike) = (Vec::new(), Vec::new(), Vec::new());
    for (number, joint) in joints.iter_mut().enumerate() {
        let Some(match_) = matching(&described, &joint.name) else {
            unmatched.push(joint.name.clone());
            continue;
        };
        check(path, match_)?;
        found.push(joint.name.clone());
        if !fits(joint, match_, declared.joints.get(number)) {
            unlike.push(joint.name.clone());
            continue;
        }
        fill(joint, match_);
    }
    if found.is_empty() {
        let named = described.iter().map(|joint| joint.name.clone()).collect();
        let what = format!(
            "no joint of it is one of the dataset's, its joints: {}, the dataset's: {}",
            Names(named),
            Names(unmatched)
        );
        return Err(wrong(
            path,
            what,
            "name the dataset's joints so in the profile: [[rig.joints]]",
        ));
    }
    let mut notices = vec![Notice::LimitsFrom { file: file.clone(), joints: Names(found) }];
    if !unmatched.is_empty() {
        notices.push(Notice::NotIn { file: file.clone(), joints: Names(unmatched) });
    }
    if !unlike.is_empty() {
        notices.push(Notice::Linear { file, joints: Names(unlike) });
    }
    Ok(notices)
}

/// The joints of a file that can move.
fn moving(path: &Path) -> Result<Vec<urdf_rs::Joint>, SourceError> {
    let text = text_file::text(path).map_err(|error| match error.kind() {
        ErrorKind::NotFound => wrong(path, "no such file", "check the spelling of the URDF's path"),
        ErrorKind::InvalidData => wrong(path, "is no text, so it is no URDF", EXPAND),
        _ => wrong(path, format!("cannot be read: {error}"), "check the permissions"),
    })?;
    let robot = urdf_rs::read_from_string(&text).map_err(|error| {
        let why = error.to_string().replace(['\n', ';'], " ");
        // A limit without effort or velocity is no URDF by its own rules.
        let hint = if why.contains("missing field") { COMPLETE } else { EXPAND };
        wrong(path, format!("cannot be read as URDF: {why}"), hint)
    })?;
    let moves = |joint: &urdf_rs::Joint| {
        matches!(
            joint.joint_type,
            JointType::Revolute | JointType::Continuous | JointType::Prismatic
        )
    };
    let joints: Vec<_> = robot.joints.into_iter().filter(moves).collect();
    if joints.is_empty() {
        return Err(wrong(path, "holds no joint that moves", "name the URDF of the follower arm"));
    }
    Ok(joints)
}

const COMPLETE: &str = "give each <limit> its effort and velocity; 0 where nobody set one";
const EXPAND: &str = "name a URDF file (XML with a <robot> in it); expand xacro files first";

fn wrong(path: &Path, what: impl Into<String>, hint: &'static str) -> SourceError {
    SourceError::Urdf { path: path.to_path_buf(), what: what.into(), hint }
}

/// The one joint of this name; none where two come near.
fn matching<'a>(described: &'a [urdf_rs::Joint], name: &str) -> Option<&'a urdf_rs::Joint> {
    if let Some(exact) = described.iter().find(|joint| joint.name == name) {
        return Some(exact);
    }
    let plain = |text: &str| text.to_lowercase().replace(['_', '-'], "");
    let wanted = plain(name);
    let mut near = described.iter().filter(|joint| plain(&joint.name) == wanted);
    near.next().filter(|_| near.next().is_none())
}

/// Refuses limits that cannot be.
fn check(path: &Path, joint: &urdf_rs::Joint) -> Result<(), SourceError> {
    let JointLimit { lower, upper, velocity, effort } = joint.limit;
    let finite = [lower, upper, velocity, effort].iter().all(|v| v.is_finite());
    let ordered = joint.joint_type == JointType::Continuous || lower <= upper;
    if finite && ordered && velocity >= 0.0 && effort >= 0.0 {
        return Ok(());
    }
    let what = format!(
        "joint \"{}\" has limits that cannot be: lower {lower}, upper {upper}, velocity \
         {velocity}, effort {effort}",
        joint.name
    );
    Err(wrong(path, what, "correct the <limit> of that joint"))
}

/// Whether a joint's values can be what the URDF says. A slide in the URDF makes the joint linear
/// unless the profile gives angles for it, or it is a gripper: those are stored in anything.
fn fits(joint: &mut Joint, described: &urdf_rs::Joint, said: Option<&DeclaredJoint>) -> bool {
    let slides = described.joint_type == JointType::Prismatic;
    let angles =
        said.is_some_and(|s| s.lower.is_some() || s.upper.is_some() || s.max_speed.is_some());
    if slides && !joint.linear && !joint.gripper && !angles {
        joint.linear = true;
    }
    slides == joint.linear
}

/// Both limits 0, and a speed or effort of 0, mean that nobody set them.
fn fill(joint: &mut Joint, described: &urdf_rs::Joint) {
    let JointLimit { lower, upper, velocity, effort } = described.limit;
    let set = described.joint_type != JointType::Continuous && lower < upper;
    let above_zero = |value: f64| Some(value).filter(|value| *value > 0.0);
    let (low, high) = (joint.lower.or(set.then_some(lower)), joint.upper.or(set.then_some(upper)));
    // A limit of the profile beyond the other end of the URDF's leaves that end unknown.
    if low.zip(high).is_none_or(|(low, high)| low < high) {
        (joint.lower, joint.upper) = (low, high);
    }
    joint.max_speed = joint.max_speed.or(above_zero(velocity));
    joint.max_effort = joint.max_effort.or(above_zero(effort));
}
