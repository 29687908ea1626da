//! Which arm a joint belongs to, where a table holds several: as declared, else by its name.

use std::sync::Arc;

use crate::model::Joint;
use crate::source::roles::words::words;

/// Fewer joints than this are no arm.
const FEWEST: usize = 2;
/// First or last words of a joint's name, and the arm they mean.
const SIDES: [(&str, &str); 4] =
    [("left", "left"), ("l", "left"), ("right", "right"), ("r", "right")];

/// Names the arms of joints that say whose they are, unless arms are declared. A table of one arm
/// has none.
pub(in crate::source) fn name(joints: &mut [Joint]) {
    if joints.iter().all(|joint| joint.arm.is_none()) {
        for joint in joints.iter_mut() {
            joint.arm = side(&joint.name).map(Arc::from);
        }
    }
    let members = |arm: &str| joints.iter().filter(|j| j.arm.as_deref() == Some(arm)).count();
    let mut arms: Vec<&str> = joints.iter().filter_map(|joint| joint.arm.as_deref()).collect();
    arms.sort_unstable();
    arms.dedup();
    if arms.len() < 2 || arms.iter().any(|arm| members(arm) < FEWEST) {
        for joint in joints {
            joint.arm = None;
        }
    }
}

fn side(name: &str) -> Option<&'static str> {
    let all = words(name);
    let means = |word: &crate::source::roles::words::Word| {
        SIDES.iter().find(|(text, _)| *text == word.text).map(|(_, arm)| *arm)
    };
    let (first, last) = (all.first()?, all.last()?);
    if all.len() < 2 { None } else { means(first).or_else(|| means(last)) }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn arms(names: &[&str]) -> Vec<Option<String>> {
        let mut joints: Vec<Joint> = names.iter().map(|name| Joint::named(*name)).collect();
        name(&mut joints);
        joints.iter().map(|joint| joint.arm.as_deref().map(str::to_owned)).collect()
    }

    #[test]
    fn two_sides_are_two_arms() {
        let seen = arms(&["left_waist", "left_elbow", "waist_r", "elbow_R", "lift"]);
        let said: Vec<Option<&str>> = seen.iter().map(Option::as_deref).collect();
        assert_eq!(said, [Some("left"), Some("left"), Some("right"), Some("right"), None]);
    }

    #[test]
    fn one_side_is_no_second_arm() {
        assert_eq!(arms(&["left_waist", "left_elbow"]), [None, None]);
        assert_eq!(arms(&["waist", "elbow", "jaw_left", "jaw_right"]), [None, None, None, None]);
    }
}
