//! The arm's joints, and the joint angles that bring the tool to a place on the rig.
//!
//! Two links of 0.22 m and 0.20 m on a turning base, a tool that hangs straight down, a gripper.
//! Angles count from a zero pose with the upper arm upright and the forearm level, so that every
//! joint works on both sides of its zero.

/// Most joints that one arm has.
pub(super) const MOST: usize = 8;

/// Joint angles of one arm in its own order, radians; unused places are 0.
pub(super) type Pose = [f64; MOST];

const UPPER_ARM_M: f64 = 0.22;
const FOREARM_M: f64 = 0.20;
const SHOULDER_HEIGHT_M: f64 = 0.10;
const TOOL_M: f64 = 0.12;

/// One joint of the rig.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct JointSpec {
    /// Name, with the arm's before it where there are two.
    pub name: String,
    /// The arm, where there are two.
    pub arm: Option<&'static str>,
    /// Its part in the arm.
    pub part: Part,
    /// Mechanical stop.
    pub lower_deg: f64,
    /// Mechanical stop.
    pub upper_deg: f64,
    /// Whether it is the gripper.
    pub gripper: bool,
}

/// A joint's part in the arm.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Part {
    /// Turns the arm on its base.
    Waist,
    /// Lifts the upper arm.
    Shoulder,
    /// Rolls the upper arm (8 joints).
    UpperArmRoll,
    /// Bends the arm.
    Elbow,
    /// Rolls the forearm (7 and 8 joints).
    ForearmRoll,
    /// Bends the wrist.
    WristPitch,
    /// Rolls the wrist.
    WristRoll,
    /// The gripper.
    Jaw,
}

impl Part {
    const fn facts(self) -> (&'static str, f64, f64) {
        match self {
            Self::Waist => ("waist", -125.0, 125.0),
            Self::Shoulder => ("shoulder", -85.0, 75.0),
            Self::UpperArmRoll => ("upper_arm_roll", -60.0, 60.0),
            Self::Elbow => ("elbow", -80.0, 85.0),
            Self::ForearmRoll => ("forearm_roll", -70.0, 70.0),
            Self::WristPitch => ("wrist_pitch", -80.0, 85.0),
            Self::WristRoll => ("wrist_roll", -75.0, 75.0),
            Self::Jaw => ("jaw", -6.0, 70.0),
        }
    }
}

/// The parts of an arm of 6, 7 or 8 joints, in the order of its vector.
pub(super) fn parts(joints: usize) -> Vec<Part> {
    use Part::{Elbow, ForearmRoll, Jaw, Shoulder, UpperArmRoll, Waist, WristPitch, WristRoll};
    match joints {
        8 => vec![Waist, Shoulder, UpperArmRoll, Elbow, ForearmRoll, WristPitch, WristRoll, Jaw],
        7 => vec![Waist, Shoulder, Elbow, ForearmRoll, WristPitch, WristRoll, Jaw],
        _ => vec![Waist, Shoulder, Elbow, WristPitch, WristRoll, Jaw],
    }
}

/// How many arms a rig of so many joints has.
pub(super) fn arms(joints: usize) -> usize {
    if joints > MOST { 2 } else { 1 }
}

/// All joints of the rig in the order of its vector.
pub(super) fn joints(joints: usize) -> Vec<JointSpec> {
    let count = arms(joints);
    let sides: &[Option<&str>] = if count == 2 { &[Some("left"), Some("right")] } else { &[None] };
    let mut all = Vec::with_capacity(joints);
    for arm in sides.iter().copied() {
        for part in parts(joints / count) {
            let (name, lower_deg, upper_deg) = part.facts();
            let gripper = part == Part::Jaw;
            let name = arm.map_or_else(|| name.to_owned(), |arm| format!("{arm}_{name}"));
            all.push(JointSpec { name, arm, part, lower_deg, upper_deg, gripper });
        }
    }
    all
}

/// Where the tool is to be.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Place {
    /// Direction from the base, degrees.
    pub azimuth_deg: f64,
    /// Distance from the base's axis, metres.
    pub radius_m: f64,
    /// Height of the tool's tip over the table, metres.
    pub height_m: f64,
    /// Turn of the tool about the vertical, degrees.
    pub turn_deg: f64,
    /// How far the elbow swings out, degrees: the freedom of arms with more joints.
    pub swing_deg: f64,
    /// Opening of the gripper, degrees.
    pub jaw_deg: f64,
}

/// Joint angles that bring the tool to a place; a place out of reach gives the nearest pose.
pub(super) fn reach(place: Place, parts: &[Part]) -> Pose {
    let rise = place.height_m + TOOL_M - SHOULDER_HEIGHT_M;
    let most = UPPER_ARM_M + FOREARM_M - 0.005;
    let distance = place.radius_m.hypot(rise).min(most);
    let cos_elbow = (distance.powi(2) - UPPER_ARM_M.powi(2) - FOREARM_M.powi(2))
        / (2.0 * UPPER_ARM_M * FOREARM_M);
    let elbow = -cos_elbow.clamp(-1.0, 1.0).acos();
    let inner = (FOREARM_M * -elbow.sin()).atan2(UPPER_ARM_M + FOREARM_M * elbow.cos());
    let shoulder = rise.atan2(place.radius_m) + inner;
    let forearm = shoulder + elbow;
    let mut pose = Pose::default();
    for (value, part) in pose.iter_mut().zip(parts) {
        *value = match part {
            Part::Waist => place.azimuth_deg.to_radians(),
            Part::Shoulder => shoulder - 90f64.to_radians(),
            Part::UpperArmRoll => (0.8 * place.swing_deg).to_radians(),
            Part::Elbow => elbow + 90f64.to_radians(),
            Part::ForearmRoll => (place.swing_deg + 0.3 * place.azimuth_deg).to_radians(),
            Part::WristPitch => -forearm - 40f64.to_radians(),
            Part::WristRoll => (0.4 * place.azimuth_deg + place.turn_deg).to_radians(),
            Part::Jaw => place.jaw_deg.to_radians(),
        };
    }
    pose
}

/// Load of gravity on a joint in a pose, as a share of the shoulder's load at full reach.
pub(super) fn load(part: Part, shoulder_rad: f64, elbow_rad: f64) -> f64 {
    let upper = shoulder_rad + std::f64::consts::FRAC_PI_2;
    let forearm = upper + elbow_rad - std::f64::consts::FRAC_PI_2;
    let whole = UPPER_ARM_M + FOREARM_M;
    match part {
        Part::Shoulder => (UPPER_ARM_M * upper.cos() + FOREARM_M * forearm.cos()) / whole,
        Part::Elbow => FOREARM_M * forearm.cos() / whole,
        _ => 0.0,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_tool_is_where_it_was_sent() {
        let place = Place {
            azimuth_deg: 30.0,
            radius_m: 0.28,
            height_m: 0.05,
            turn_deg: 0.0,
            swing_deg: 0.0,
            jaw_deg: 0.0,
        };
        let pose = reach(place, &parts(6));
        let upper = pose[1] + std::f64::consts::FRAC_PI_2;
        let forearm = upper + pose[2] - std::f64::consts::FRAC_PI_2;
        let radius = UPPER_ARM_M * upper.cos() + FOREARM_M * forearm.cos();
        let tip =
            SHOULDER_HEIGHT_M + UPPER_ARM_M * upper.sin() + FOREARM_M * forearm.sin() - TOOL_M;
        assert!((radius - 0.28).abs() < 1e-9 && (tip - 0.05).abs() < 1e-9);
    }

    #[test]
    fn every_rig_has_as_many_joints_as_asked_and_one_gripper_an_arm() {
        for count in [6, 7, 8, 12, 14, 16] {
            let all = joints(count);
            assert_eq!(all.len(), count);
            assert_eq!(all.iter().filter(|j| j.gripper).count(), arms(count));
        }
    }
}
