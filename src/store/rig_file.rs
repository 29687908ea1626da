//! The rig as JSON.

use std::sync::Arc;

use serde::{Deserialize, Serialize};

use crate::model::{AngleUnit, ClockStorage, Extra, Joint, Rig};

#[derive(Debug, Clone, Serialize, Deserialize)]
pub(super) struct RigFile {
    pub joints: Vec<JointFile>,
    pub rate_hz: Option<f64>,
    pub period_s: f64,
    pub clock: ClockFile,
    pub unit: AngleUnit,
    pub unit_declared: bool,
    pub notices: Vec<String>,
    pub extras: Vec<String>,
}

#[derive(Debug, Clone, Serialize, Deserialize)]
pub(super) struct JointFile {
    pub name: String,
    pub lower: Option<f64>,
    pub upper: Option<f64>,
    pub max_speed: Option<f64>,
    pub max_effort: Option<f64>,
    pub max_temperature: Option<f64>,
    pub arm: Option<String>,
    pub stored_range: Option<(f64, f64)>,
    pub gripper: bool,
    pub gripper_by_place: bool,
    pub linear: bool,
    pub count: f64,
    pub observed: Option<(f64, f64)>,
}

#[derive(Debug, Clone, Copy, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub(super) enum ClockFile {
    None,
    Float { precision_bits: u32, scale_s: f64 },
    Ticks { tick_s: f64 },
}

const EXTRAS: [Extra; 6] = [
    Extra::Velocity,
    Extra::Effort,
    Extra::Voltage,
    Extra::Temperature,
    Extra::Cameras,
    Extra::Base,
];

impl RigFile {
    pub fn of(rig: &Rig) -> Self {
        let joint = |j: &Joint| JointFile {
            name: j.name.clone(),
            lower: j.lower,
            upper: j.upper,
            max_speed: j.max_speed,
            max_effort: j.max_effort,
            max_temperature: j.max_temperature,
            arm: j.arm.as_deref().map(str::to_owned),
            stored_range: j.stored_range,
            gripper: j.gripper,
            gripper_by_place: j.gripper_by_place,
            linear: j.linear,
            count: j.count,
            observed: j.observed,
        };
        Self {
            joints: rig.joints.iter().map(joint).collect(),
            rate_hz: rig.rate_hz,
            period_s: rig.period_s,
            clock: match rig.clock {
                ClockStorage::None => ClockFile::None,
                ClockStorage::Float { precision_bits, scale_s } => {
                    ClockFile::Float { precision_bits, scale_s }
                }
                ClockStorage::Ticks { tick_s } => ClockFile::Ticks { tick_s },
            },
            unit: rig.unit,
            unit_declared: rig.unit_declared,
            notices: rig.notices.clone(),
            extras: rig.extras.iter().map(|extra| extra.word().to_owned()).collect(),
        }
    }

    pub fn rig(&self) -> Rig {
        let joint = |j: &JointFile| Joint {
            name: j.name.clone(),
            lower: j.lower,
            upper: j.upper,
            max_speed: j.max_speed,
            max_effort: j.max_effort,
            max_temperature: j.max_temperature,
            arm: j.arm.as_deref().map(Arc::from),
            stored_range: j.stored_range,
            gripper: j.gripper,
            gripper_by_place: j.gripper_by_place,
            linear: j.linear,
            count: j.count,
            observed: j.observed,
        };
        let extra = |word: &String| EXTRAS.into_iter().find(|extra| extra.word() == word);
        Rig {
            joints: self.joints.iter().map(joint).collect(),
            rate_hz: self.rate_hz,
            period_s: self.period_s,
            clock: match self.clock {
                ClockFile::None => ClockStorage::None,
                ClockFile::Float { precision_bits, scale_s } => {
                    ClockStorage::Float { precision_bits, scale_s }
                }
                ClockFile::Ticks { tick_s } => ClockStorage::Ticks { tick_s },
            },
            unit: self.unit,
            unit_declared: self.unit_declared,
            notices: self.notices.clone(),
            extras: self.extras.iter().filter_map(extra).collect(),
        }
    }
}
