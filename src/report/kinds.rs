//! What kind of signal each dimension is, why, and the line of a profile that decides.

use super::text::clean;
use crate::model::{Rig, SignalKind};

/// Names shown before a list is cut.
const SHOWN: usize = 8;

/// One line for each kind and reason; none where the dimensions are plain joints.
pub(super) fn kinds(rig: &Rig) -> Vec<String> {
    let mut groups: Vec<(SignalKind, &str, Vec<&str>)> = Vec::new();
    for joint in rig.joints.iter().filter(|joint| !joint.kind_why.is_empty()) {
        let (kind, why) = (joint.kind(), joint.kind_why.as_str());
        match groups.iter_mut().find(|(k, w, _)| *k == kind && *w == why) {
            Some((.., names)) => names.push(&joint.name),
            None => groups.push((kind, why, vec![&joint.name])),
        }
    }
    let line = |(kind, why, names): (SignalKind, &str, Vec<&str>)| {
        let mut shown: Vec<String> = names.iter().take(SHOWN).map(|name| clean(name)).collect();
        if names.len() > SHOWN {
            shown.push("...".to_owned());
        }
        format!("{}: {} ({})", shown.join(", "), kind.word(), clean(why))
    };
    groups.into_iter().map(line).collect()
}

/// The line of a profile that decides otherwise; none where nothing was recognised.
pub(super) fn decides(rig: &Rig) -> Option<String> {
    let guessed = |why: &str| !why.is_empty() && !why.starts_with("declared");
    let joint = rig.joints.iter().find(|joint| guessed(&joint.kind_why))?;
    let other = match joint.kind() {
        SignalKind::Orientation => {
            return Some("[state] rotations = [{ form = \"xyzw\", of = [...] }]".to_owned());
        }
        SignalKind::GripperDiscrete => SignalKind::GripperContinuous,
        _ => SignalKind::Revolute,
    };
    Some(format!("[state] kinds = {{ \"{}\" = \"{}\" }}", clean(&joint.name), other.word()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::Joint;

    #[test]
    fn dimensions_of_one_kind_are_one_line_and_plain_joints_none() {
        let of = |name: &str, kind, why: &str| Joint {
            kind,
            kind_why: why.to_owned(),
            ..Joint::named(name)
        };
        let rig = Rig {
            joints: vec![
                Joint::named("waist"),
                of("x", SignalKind::Position, "named x, y, z"),
                of("y", SignalKind::Position, "named x, y, z"),
                of("jaw", SignalKind::GripperDiscrete, "2 values in all"),
            ],
            ..Rig::default()
        };
        let want = ["x, y: position (named x, y, z)", "jaw: discrete_gripper (2 values in all)"];
        assert_eq!(kinds(&rig), want);
        assert_eq!(decides(&rig).as_deref(), Some("[state] kinds = { \"x\" = \"revolute\" }"));
        assert!(kinds(&Rig::default()).is_empty() && decides(&Rig::default()).is_none());
    }
}
