//! The profile that goes with a demo session.

use std::fmt::Write as _;

use super::recipe::Recipe;
use crate::model::AngleUnit;

/// The profile as TOML: rate, unit, joints with their stops, top speed and gripper.
pub fn profile_toml(recipe: &Recipe) -> String {
    let rig = recipe.rig();
    let scale = rig.unit.to_radian();
    let places = if matches!(rig.unit, AngleUnit::Radian) { 6 } else { 3 };
    let mut text = String::from("# The demo's rig: a seedling nursery, simulated.\n[rig]\n");
    let mut line = |written: std::fmt::Arguments<'_>| {
        // Writing to a string cannot fail.
        let _ = text.write_fmt(written);
    };
    line(format_args!("rate_hz = {:?}\n", recipe.rate_hz));
    line(format_args!("unit = \"{}\"\n", rig.unit.name()));
    if let AngleUnit::Counts { per_turn } = rig.unit {
        line(format_args!("counts_per_turn = {per_turn:?}\n"));
    }
    for joint in &rig.joints {
        line(format_args!("\n[[rig.joints]]\nname = \"{}\"\n", joint.name));
        let bounds =
            [("lower", joint.lower), ("upper", joint.upper), ("max_speed", joint.max_speed)];
        for (key, value) in bounds {
            if let Some(value) = value {
                line(format_args!("{key} = {:.places$}\n", value / scale));
            }
        }
        if joint.gripper {
            line(format_args!("gripper = true\n"));
        }
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::demo::StoredUnit;

    #[test]
    fn it_parses_and_states_limits_in_its_own_unit() -> Result<(), Box<dyn std::error::Error>> {
        for (unit, expected) in [(StoredUnit::Deg, 125.0), (StoredUnit::Rad, 2.181_662)] {
            let text = profile_toml(&Recipe { unit, ..Recipe::nursery() });
            let profile: toml::Table = toml::from_str(&text)?;
            let joints = profile["rig"]["joints"].as_array().ok_or("joints")?;
            assert_eq!(joints.len(), 6);
            assert_eq!(joints[0]["upper"].as_float(), Some(expected));
            assert_eq!(joints[5]["gripper"].as_bool(), Some(true));
        }
        Ok(())
    }
}
