//! What the name of a dimension says of it: an axis of a place or a rotation, a speed, an effort.

use crate::model::RotationForm;
use crate::source::roles::words::{ACTION, FILLER, POSITION, STATE, Word, words};

/// Names of the stored numbers of one side.
#[derive(Debug, Clone, Default)]
pub(in crate::source) struct Names {
    pub names: Vec<String>,
    /// Whether the table gives them; otherwise they are counted.
    pub given: bool,
}

/// The name without the words that only say whose or what quantity it is: what both sides share.
pub(in crate::source) fn key(name: &str) -> String {
    let all = words(name);
    let own =
        |w: &&Word| !(w.among(STATE) || w.among(ACTION) || w.among(POSITION) || w.among(FILLER));
    let kept: Vec<&str> = all.iter().filter(own).map(|w| w.text.as_str()).collect();
    if kept.is_empty() { name.to_lowercase() } else { kept.join("_") }
}

/// What an axis belongs to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::source) enum Axes {
    /// x, y, z of a place.
    Place,
    /// x, y, z, w of a quaternion.
    Quaternion,
    /// x, y, z of a rotation vector.
    Vector,
    /// Roll, pitch, yaw.
    Euler,
    /// Six numbers: two columns of the matrix.
    Columns,
}

const QUATERNION: &[&str] = &["q", "quat", "quaternion"];
const ROTATION: &[&str] = &["rotvec", "rvec", "axisangle", "rotation", "rot", "orientation"];
const SPEEDS: &[&str] = &["vx", "vy", "vz", "wx", "wy", "wz"];
const VELOCITY: &[&str] = &["velocity", "velocities", "vel", "speed", "twist"];
const COUNTER: &[&str] = &["frame", "step", "index", "counter", "count", "id"];
const EFFORT: &[&str] =
    &["effort", "torque", "force", "current", "load", "voltage", "temperature", "temp"];

/// An axis by its name: what is in front of it, what it belongs to, and which one it is.
pub(in crate::source) fn axis(name: &str) -> Option<(String, Axes, usize)> {
    let all = words(name);
    let (last, front) = all.split_last()?;
    let before = front.last();
    let of = |letters: &str| letters.find(last.text.as_str()).filter(|_| last.text.len() == 1);
    let two = |first: char| {
        let mut chars = last.text.chars();
        let here = (chars.next(), chars.next(), chars.next());
        let (Some(a), Some(b), None) = here else { return None };
        (a == first).then(|| "xyzw".find(b)).flatten()
    };
    let (axes, place, used) = if let Some(place) = two('q') {
        (Axes::Quaternion, place, 1)
    } else if let Some(place) = two('r').filter(|place| *place < 3) {
        (Axes::Vector, place, 1)
    } else if let Some(place) = two('p').filter(|place| *place < 3) {
        (Axes::Place, place, 1)
    } else if let Some(place) = ["roll", "pitch", "yaw"].iter().position(|w| *w == last.text) {
        (Axes::Euler, place, 1)
    } else if let Some(place) = COLUMNS.iter().position(|w| *w == last.text) {
        (Axes::Columns, place, 1)
    } else if before.is_some_and(|w| w.text == "rot6d") {
        (Axes::Columns, last.text.parse().ok().filter(|place| *place < 6)?, 2)
    } else if before.is_some_and(|w| w.among(QUATERNION)) {
        (Axes::Quaternion, of("xyzw")?, 2)
    } else if before.is_some_and(|w| w.among(ROTATION)) {
        // With a w among them they are a quaternion: see `by_name`.
        (Axes::Vector, of("xyzw")?, 2)
    } else {
        (Axes::Place, of("xyz")?, 1)
    };
    let rest: Vec<&str> = all[..all.len() - used].iter().map(|w| w.text.as_str()).collect();
    Some((rest.join("_"), axes, place))
}

const COLUMNS: [&str; 6] = ["r11", "r21", "r31", "r12", "r22", "r32"];

/// Whether the name says a speed.
pub(in crate::source) fn is_velocity(name: &str) -> bool {
    let all = words(name);
    let twist = all.last().is_some_and(|w| w.among(SPEEDS));
    twist || all.iter().any(|w| w.among(VELOCITY))
}

/// Whether the name says what a motor gives or has.
pub(in crate::source) fn is_effort(name: &str) -> bool {
    words(name).iter().any(|w| w.among(EFFORT))
}

/// Whether the name says a number of the row.
pub(in crate::source) fn is_counter(name: &str) -> bool {
    words(name).last().is_some_and(|w| w.among(COUNTER))
}

/// A group of axes by their names: places among the stored numbers, in the order of the axes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(in crate::source) struct NamedGroup {
    pub front: String,
    pub axes: Axes,
    pub from: Vec<usize>,
}

/// The groups that names make. Two of three axes are enough for a place, a rotation needs all.
/// Roll, pitch and yaw are a rotation only next to a place: arms have joints of these names.
pub(in crate::source) fn groups(names: &[String]) -> Vec<NamedGroup> {
    // Front, axes, and of each member its place in the group and among the names.
    type Found = (String, Axes, Vec<(usize, usize)>);
    let mut found: Vec<Found> = Vec::new();
    for (at, name) in names.iter().enumerate() {
        let Some((front, axes, place)) = axis(name) else { continue };
        match found.iter_mut().find(|(f, a, _)| *f == front && *a == axes) {
            Some((.., members)) => members.push((place, at)),
            None => found.push((front, axes, vec![(place, at)])),
        }
    }
    let mut groups: Vec<NamedGroup> = Vec::new();
    for (front, mut axes, mut members) in found {
        members.sort_unstable();
        if axes == Axes::Vector && members.len() == 4 {
            axes = Axes::Quaternion;
        }
        let enough = match axes {
            Axes::Place => 2..=3,
            Axes::Quaternion => 4..=4,
            Axes::Vector | Axes::Euler => 3..=3,
            Axes::Columns => 6..=6,
        };
        let whole = members.iter().enumerate().all(|(n, (place, _))| n == *place);
        if whole && enough.contains(&members.len()) {
            let from = members.into_iter().map(|(_, at)| at).collect();
            groups.push(NamedGroup { front, axes, from });
        }
    }
    let places: Vec<String> =
        groups.iter().filter(|g| g.axes == Axes::Place).map(|g| g.front.clone()).collect();
    groups.retain(|g| g.axes != Axes::Euler || places.contains(&g.front));
    groups
}

impl Axes {
    /// How a group of these axes, in their order, stores a rotation; none for a place.
    pub fn form(self) -> Option<RotationForm> {
        match self {
            Self::Place => None,
            Self::Quaternion => Some(RotationForm::Xyzw),
            Self::Vector => Some(RotationForm::Vector),
            Self::Euler => Some(RotationForm::Euler),
            Self::Columns => Some(RotationForm::Columns),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn found(names: &[&str]) -> Vec<(String, Axes, Vec<usize>)> {
        let names: Vec<String> = names.iter().map(|n| (*n).to_owned()).collect();
        groups(&names).into_iter().map(|g| (g.front, g.axes, g.from)).collect()
    }

    #[test]
    fn a_pose_is_a_place_and_a_rotation() {
        let pose = found(&["x", "y", "z", "qw", "qx", "qy", "qz", "gripper"]);
        let want = [
            (String::new(), Axes::Place, vec![0, 1, 2]),
            (String::new(), Axes::Quaternion, vec![4, 5, 6, 3]),
        ];
        assert_eq!(pose, want);
        let two =
            found(&["left_hand_x", "left_hand_y", "left_hand_rx", "left_hand_ry", "left_hand_rz"]);
        assert_eq!(two[0].2, [0, 1]);
        assert_eq!((two[1].1, two[1].2.clone()), (Axes::Vector, vec![2, 3, 4]));
        let six = ["rot6d_0", "rot6d_1", "rot6d_2", "rot6d_3", "rot6d_4", "rot6d_5"];
        assert_eq!(found(&six)[0].1, Axes::Columns);
        assert_eq!(
            found(&["orientation_x", "orientation_y", "orientation_z", "orientation_w"])[0].1,
            Axes::Quaternion
        );
    }

    #[test]
    fn joints_of_an_arm_are_no_pose() {
        assert!(found(&["wrist_roll", "wrist_pitch", "wrist_yaw", "elbow"]).is_empty());
        assert!(found(&["rail_x", "beam_y", "lift_z", "gripper"]).is_empty());
        assert!(found(&["r1", "r2", "r3", "yaw"]).is_empty());
        assert_eq!(
            found(&["tool_x", "tool_y", "tool_z", "tool_roll", "tool_pitch", "tool_yaw"]).len(),
            2
        );
    }

    #[test]
    fn sides_share_a_name_without_the_roles_words() {
        assert_eq!(key("leader_elbow"), key("follower_elbow_pos"));
        assert_eq!(key("joint_3.target"), "3");
        assert!(is_velocity("tool_vx") && is_velocity("elbow_velocity") && !is_velocity("wave"));
        assert!(is_effort("elbow_torque") && !is_effort("temporal"));
    }
}
