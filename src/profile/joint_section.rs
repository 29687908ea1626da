//! `[[rig.joints]]`: one joint, its limits in the profile's unit or in their own.

use serde::{Deserialize, Serialize};
use toml::Spanned;

use super::error::ProfileError;
use super::given::Given;
use super::place::Place;
use crate::model::quantity::{self, Quantity};
use crate::model::{AngleUnit, Unit};
use crate::source::DeclaredJoint;

/// One joint as the file gives it.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct JointSection {
    /// Name.
    pub name: String,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub lower: Option<Spanned<Given>>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub upper: Option<Spanned<Given>>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub max_speed: Option<Spanned<Given>>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub max_effort: Option<f64>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub max_temperature: Option<f64>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub range: Option<(f64, f64)>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub arm: Option<String>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub gripper: Option<bool>,
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub parked: bool,
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub linear: bool,
}

impl JointSection {
    /// The joint in SI; `si` is what a bare limit is multiplied by.
    pub fn declared(self, si: f64, place: &Place<'_>) -> Result<DeclaredJoint, ProfileError> {
        let limit = |given: &Option<Spanned<Given>>, unit, key| {
            given.as_ref().map(|given| self.in_si(given, unit, key, si, place)).transpose()
        };
        Ok(DeclaredJoint {
            lower: limit(&self.lower, Unit::Radian, "lower")?,
            upper: limit(&self.upper, Unit::Radian, "upper")?,
            max_speed: limit(&self.max_speed, Unit::RadianPerSecond, "max_speed")?,
            max_effort: self.max_effort,
            max_temperature: self.max_temperature,
            range: self.range,
            gripper: self.gripper,
            parked: self.parked,
            linear: self.linear,
            name: self.name,
            arm: self.arm,
        })
    }

    fn in_si(
        &self,
        given: &Spanned<Given>,
        unit: Unit,
        key: &str,
        si: f64,
        place: &Place<'_>,
    ) -> Result<f64, ProfileError> {
        let text = match given.get_ref() {
            Given::Bare(value) => return Ok(value * si),
            Given::Text(text) => text,
        };
        let name = &self.name;
        let wrong = |what: &str, hint: &str| {
            Err(place.wrong(given.span(), format!("joint \"{name}\", {key}: {what}"), hint))
        };
        match quantity::read(text, unit) {
            Err(error) => wrong(&error.to_string(), error.hint()),
            Ok(Quantity { linear: true, .. }) if !self.linear => wrong(
                &format!("\"{text}\" is of a linear joint"),
                "write degrees or radians; or add linear = true to the joint",
            ),
            Ok(Quantity { linear: false, .. }) if self.linear => wrong(
                &format!("\"{text}\" is of a joint that turns"),
                "write m, cm or mm; or leave out linear = true",
            ),
            Ok(Quantity { value, .. }) => Ok(value),
        }
    }
}

/// A joint as it is best written: limits with their unit, or bare where the file's own unit is none
/// that has a name.
pub(super) fn section(
    joint: &DeclaredJoint,
    stored: Option<AngleUnit>,
    si: f64,
) -> Spanned<JointSection> {
    let bare = matches!(stored, Some(AngleUnit::Counts { .. })) && !joint.linear;
    let given = |value: Option<f64>, unit: Unit, metres: &str| {
        value.map(|value| {
            spanned(if bare {
                Given::Bare(shortest(value, si))
            } else if joint.linear {
                Given::Text(format!("{} {metres}", quantity::written(value, Unit::Ratio)))
            } else {
                Given::written(value, unit)
            })
        })
    };
    spanned(JointSection {
        name: joint.name.clone(),
        lower: given(joint.lower, Unit::Radian, "m"),
        upper: given(joint.upper, Unit::Radian, "m"),
        max_speed: given(joint.max_speed, Unit::RadianPerSecond, "m/s"),
        max_effort: joint.max_effort,
        max_temperature: joint.max_temperature,
        range: joint.range,
        arm: joint.arm.clone(),
        gripper: joint.gripper,
        parked: joint.parked,
        linear: joint.linear,
    })
}

fn spanned<T>(value: T) -> Spanned<T> {
    Spanned::new(0..0, value)
}

/// The shortest number that reads back as `value` when multiplied by `si`: a person who wrote 125
/// counts finds 125 again, not 125.00000000000001.
fn shortest(value: f64, si: f64) -> f64 {
    let plain = value / si;
    let rounded = (0..=12).map(|digits| {
        let scale = 10f64.powi(digits);
        (plain * scale).round() / scale
    });
    let mut candidates = rounded.chain([plain, plain.next_up(), plain.next_down()]);
    candidates.find(|stored| stored * si == value).unwrap_or(plain)
}
