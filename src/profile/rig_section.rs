//! `[columns]` and `[rig]`: what is said of the table and the machine.

use toml::Spanned;

use super::error::ProfileError;
use super::file::{Columns, JointSection, RigSection};
use super::resolve::Place;
use super::suggest::hint;
use crate::model::AngleUnit;
use crate::source::{Declared, DeclaredJoint, TimeUnit};

/// Names of the units of time, as the file writes them.
pub(super) const TIME_UNITS: [(&str, TimeUnit); 4] = [
    ("s", TimeUnit::Second),
    ("ms", TimeUnit::Milli),
    ("us", TimeUnit::Micro),
    ("ns", TimeUnit::Nano),
];

/// Column roles.
pub(super) fn columns(columns: Columns, place: &Place<'_>) -> Result<Declared, ProfileError> {
    let time_unit = columns.time_unit.map(|unit| time_unit(&unit, place)).transpose()?;
    Ok(Declared {
        episode: columns.episode,
        time: columns.time,
        time_unit,
        state: columns.state,
        action: columns.action,
        task: columns.task,
        ..Declared::default()
    })
}

fn time_unit(unit: &Spanned<String>, place: &Place<'_>) -> Result<TimeUnit, ProfileError> {
    let typed = unit.get_ref().as_str();
    TIME_UNITS.iter().find(|(name, _)| *name == typed).map(|&(_, unit)| unit).ok_or_else(|| {
        let what = format!("there is no time unit \"{typed}\"");
        place.wrong(unit.span(), what, "use \"s\", \"ms\", \"us\" or \"ns\"")
    })
}

/// The rig.
pub(super) fn rig(
    rig: RigSection,
    place: &Place<'_>,
    declared: &mut Declared,
) -> Result<(), ProfileError> {
    declared.rate_hz = positive(rig.rate_hz.as_ref(), "rate_hz", place)?;
    declared.counts_per_turn = positive(rig.counts_per_turn.as_ref(), "counts_per_turn", place)?;
    if let Some(unit) = &rig.unit {
        declared.unit = Some(angle_unit(unit, declared.counts_per_turn, place)?);
    }
    for joint in rig.joints {
        let span = joint.span();
        let joint = joint.into_inner();
        if let Some(what) = joint_fault(&joint, &declared.joints) {
            return Err(place.wrong(span, what, ""));
        }
        let si = si_per_stored(declared.unit, joint.linear);
        let in_si = |value: Option<f64>| value.map(|value| value * si);
        declared.joints.push(DeclaredJoint {
            name: joint.name,
            lower: in_si(joint.lower),
            upper: in_si(joint.upper),
            max_speed: in_si(joint.max_speed),
            gripper: joint.gripper,
            linear: joint.linear,
        });
    }
    Ok(())
}

/// Radians (metres) to one unit that a joint's limits are written in: that of the table, or radians
/// where none is declared; a linear joint's are metres.
pub(super) fn si_per_stored(unit: Option<AngleUnit>, linear: bool) -> f64 {
    if linear { 1.0 } else { unit.map_or(1.0, AngleUnit::to_radian) }
}

fn angle_unit(
    unit: &Spanned<String>,
    counts_per_turn: Option<f64>,
    place: &Place<'_>,
) -> Result<AngleUnit, ProfileError> {
    match unit.get_ref().as_str() {
        "rad" => Ok(AngleUnit::Radian),
        "deg" => Ok(AngleUnit::Degree),
        "counts" => {
            counts_per_turn.map(|per_turn| AngleUnit::Counts { per_turn }).ok_or_else(|| {
                let hint = "add the sensor's counts in one turn, such as counts_per_turn = 4096";
                place.wrong(unit.span(), "unit = \"counts\" needs counts_per_turn", hint)
            })
        }
        "normalized" => {
            let what = "unit = \"normalized\" cannot be audited: limits are angles, and a \
                        normalised value has none";
            place.wrong(unit.span(), what, "store rad, deg or counts, and declare that").err()
        }
        other => {
            let what = format!("there is no unit \"{other}\"");
            place.wrong(unit.span(), what, hint(other, &["rad", "deg", "counts"])).err()
        }
    }
}

impl ProfileError {
    fn err<T>(self) -> Result<T, Self> {
        Err(self)
    }
}

fn positive(
    value: Option<&Spanned<f64>>,
    name: &str,
    place: &Place<'_>,
) -> Result<Option<f64>, ProfileError> {
    let Some(value) = value else { return Ok(None) };
    let number = *value.get_ref();
    if number.is_finite() && number > 0.0 {
        return Ok(Some(number));
    }
    Err(place.wrong(value.span(), format!("{name} must be a number above zero"), ""))
}

/// What is wrong with a joint, given those before it.
fn joint_fault(joint: &JointSection, before: &[DeclaredJoint]) -> Option<String> {
    let name = &joint.name;
    let numbers = [joint.lower, joint.upper, joint.max_speed];
    if numbers.into_iter().flatten().any(|n| !n.is_finite()) {
        return Some(format!("joint \"{name}\": limits must be finite numbers"));
    }
    if before.iter().any(|other| other.name == *name) {
        return Some(format!("two joints are called \"{name}\""));
    }
    if joint.max_speed.is_some_and(|speed| speed <= 0.0) {
        return Some(format!("joint \"{name}\": max_speed must be above zero"));
    }
    match (joint.lower, joint.upper) {
        (Some(lower), Some(upper)) if lower >= upper => {
            Some(format!("joint \"{name}\": lower = {lower} is not below upper = {upper}"))
        }
        _ => None,
    }
}
