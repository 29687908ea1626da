//! `[columns]` and `[rig]`: what is said of the table and the machine.

use std::path::Path;

use toml::Spanned;

use super::error::ProfileError;
use super::file::{CameraSection, Columns, RigSection};
use super::given::Given;
use super::place::Place;
use super::suggest::hint;
use crate::model::AngleUnit;
use crate::source::{Declared, DeclaredCamera, DeclaredJoint, TimeUnit};

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
        velocity: columns.velocity,
        effort: columns.effort,
        voltage: columns.voltage,
        temperature: columns.temperature,
        task: columns.task,
        labels: columns.labels,
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

/// Cameras.
pub(super) fn cameras(
    sections: Vec<Spanned<CameraSection>>,
    place: &Place<'_>,
) -> Result<Vec<DeclaredCamera>, ProfileError> {
    let one = |section: Spanned<CameraSection>| {
        let span = section.span();
        let CameraSection { name, index, stamp, rate_hz } = section.into_inner();
        let wrong =
            |what: &str, hint| Err(place.wrong(span, format!("camera \"{name}\": {what}"), hint));
        if index.is_none() && stamp.is_none() {
            return wrong(
                "neither index nor stamp",
                "name the column with its frame number or stamp",
            );
        }
        if rate_hz.is_some_and(|hz| !(hz.is_finite() && hz > 0.0)) {
            return wrong("rate_hz must be a number above zero", "");
        }
        Ok(DeclaredCamera { name, index, stamp, rate_hz })
    };
    sections.into_iter().map(one).collect()
}

/// The rig.
pub(super) fn rig(
    rig: RigSection,
    place: &Place<'_>,
    declared: &mut Declared,
) -> Result<(), ProfileError> {
    declared.rate_hz = positive(rig.rate_hz.as_ref(), "rate_hz", place)?;
    declared.counts_per_turn = positive(rig.counts_per_turn.as_ref(), "counts_per_turn", place)?;
    let normalized = rig.normalized.as_ref().map(|range| ends(range, place)).transpose()?;
    if let Some(unit) = &rig.unit {
        declared.unit = Some(angle_unit(unit, declared.counts_per_turn, normalized, place)?);
    }
    declared.limit_unit =
        rig.limit_unit.as_ref().map(|unit| limit_unit(unit, place)).transpose()?;
    // A file next to the profile goes by its bare name, from wherever the tool is called.
    let folder = Path::new(place.name).parent().unwrap_or(Path::new(""));
    declared.urdf = rig.urdf.map(|file| folder.join(file));
    for joint in rig.joints {
        let span = joint.span();
        let section = joint.into_inner();
        let si = si_per_limit(declared.unit, declared.limit_unit, section.linear);
        let typed = [&section.lower, &section.upper].map(|given| typed(given.as_ref()));
        let joint = section.declared(si, place)?;
        if let Some(what) = joint_fault(&joint, &typed, &declared.joints) {
            return Err(place.wrong(span, what, ""));
        }
        if let Some((what, hint)) = range_fault(&joint, declared.unit) {
            return Err(place.wrong(span, what, hint));
        }
        declared.joints.push(joint);
    }
    Ok(())
}

/// Radians (metres) to one unit that a joint's limits are written in: the one declared for them, or
/// that of the table, or radians where none is declared or the table's is no angle; a linear
/// joint's are metres.
pub(super) fn si_per_limit(
    unit: Option<AngleUnit>,
    limit_unit: Option<AngleUnit>,
    linear: bool,
) -> f64 {
    let angle = unit.filter(|unit| !matches!(unit, AngleUnit::Normalized { .. }));
    if linear { 1.0 } else { limit_unit.or(angle).map_or(1.0, AngleUnit::to_radian) }
}

/// The two ends of a range.
fn ends(range: &Spanned<[f64; 2]>, place: &Place<'_>) -> Result<(f64, f64), ProfileError> {
    let [low, high] = *range.get_ref();
    if low.is_finite() && high.is_finite() && low < high {
        return Ok((low, high));
    }
    let hint = "give the stored values at both ends of the travel, such as [-100.0, 100.0]";
    Err(place.wrong(range.span(), "normalized must be two numbers, the lower one first", hint))
}

fn limit_unit(unit: &Spanned<String>, place: &Place<'_>) -> Result<AngleUnit, ProfileError> {
    match unit.get_ref().as_str() {
        "rad" => Ok(AngleUnit::Radian),
        "deg" => Ok(AngleUnit::Degree),
        other => {
            let what = format!("limits of joints cannot be written in \"{other}\"");
            Err(place.wrong(unit.span(), what, "use limit_unit = \"rad\" or \"deg\""))
        }
    }
}

fn angle_unit(
    unit: &Spanned<String>,
    counts_per_turn: Option<f64>,
    normalized: Option<(f64, f64)>,
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
            normalized.map(|(low, high)| AngleUnit::Normalized { low, high }).ok_or_else(|| {
                let hint = "add the stored values at both ends of a joint's travel, such as \
                            normalized = [-100.0, 100.0]";
                place.wrong(unit.span(), "unit = \"normalized\" needs its range", hint)
            })
        }
        other => {
            let what = format!("there is no unit \"{other}\"");
            place
                .wrong(unit.span(), what, hint(other, &["rad", "deg", "counts", "normalized"]))
                .err()
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

/// A number as it stands in the file.
fn typed(given: Option<&Spanned<Given>>) -> String {
    given.map_or_else(String::new, |given| given.get_ref().to_string())
}

/// What is wrong with a joint, given its limits as they were typed and the joints before it.
fn joint_fault(
    joint: &DeclaredJoint,
    [lower_typed, upper_typed]: &[String; 2],
    before: &[DeclaredJoint],
) -> Option<String> {
    let name = &joint.name;
    let numbers =
        [joint.lower, joint.upper, joint.max_speed, joint.max_effort, joint.max_temperature];
    if numbers.into_iter().flatten().any(|n| !n.is_finite()) {
        return Some(format!("joint \"{name}\": limits must be finite numbers"));
    }
    if before.iter().any(|other| other.name == *name) {
        return Some(format!("two joints are called \"{name}\""));
    }
    if joint.max_speed.is_some_and(|speed| speed <= 0.0) {
        return Some(format!("joint \"{name}\": max_speed must be above zero"));
    }
    if joint.max_effort.is_some_and(|effort| effort <= 0.0) {
        return Some(format!("joint \"{name}\": max_effort must be above zero"));
    }
    if joint.max_temperature.is_some_and(|most| most <= 0.0) {
        return Some(format!("joint \"{name}\": max_temperature must be above zero"));
    }
    match (joint.lower, joint.upper) {
        (Some(lower), Some(upper)) if lower >= upper => {
            let what = format!("lower = {lower_typed} is not below upper = {upper_typed}");
            Some(format!("joint \"{name}\": {what}"))
        }
        _ => None,
    }
}

/// What is wrong with a joint's stored range, and what to do about it.
fn range_fault(joint: &DeclaredJoint, unit: Option<AngleUnit>) -> Option<(String, &'static str)> {
    let name = &joint.name;
    let normalized = matches!(unit, Some(AngleUnit::Normalized { .. }));
    if normalized && joint.lower.is_some() != joint.upper.is_some() {
        let what = format!("joint \"{name}\": a normalised joint needs both lower and upper");
        return Some((what, "they say what its range stands for; or leave both out"));
    }
    let (low, high) = joint.range?;
    if !normalized {
        let what = format!("joint \"{name}\": range is for normalised values only");
        return Some((what, "limits go in lower and upper; or declare unit = \"normalized\""));
    }
    let good = low.is_finite() && high.is_finite() && low < high;
    (!good).then(|| {
        let what = format!("joint \"{name}\": range must be two numbers, the lower one first");
        (what, "give the stored values at both ends of its travel")
    })
}
