//! What is known of the machine that was recorded.

use std::sync::Arc;

use serde::de::IntoDeserializer as _;
use serde::de::value::{Error as Unknown, StringDeserializer};
use serde::{Deserialize, Deserializer, Serialize, Serializer};

use super::action_kind::Actions;
use super::extras::Extra;
use super::signal_kind::SignalKind;
use super::stored::Stored;
use super::unit::AngleUnit;

/// Index of a joint in [`Rig::joints`].
pub type JointId = u16;

/// How the table stores its time stamps: what the clock can resolve, and whether there is one.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum ClockStorage {
    /// No time column: stamps were made from the row number and the rate.
    None,
    /// Binary floating point of this many bits of precision (24 or 53), in multiples of
    /// `scale_s` seconds: the resolution depends on the stamp's size.
    Float {
        /// Bits of the significand.
        precision_bits: u32,
        /// Seconds to one stored unit.
        scale_s: f64,
    },
    /// Whole numbers of this many seconds.
    Ticks {
        /// Seconds to one tick.
        tick_s: f64,
    },
}

impl ClockStorage {
    /// The distance in seconds between neighbouring storable stamps at a stamp this large.
    pub fn resolution_s(self, stamp_s: f64) -> f64 {
        match self {
            Self::None => 0.0,
            Self::Ticks { tick_s } => tick_s,
            Self::Float { precision_bits, scale_s } => {
                let stored = (stamp_s / scale_s).abs().max(f64::MIN_POSITIVE);
                2f64.powi(stored.log2().floor() as i32 + 1 - precision_bits as i32) * scale_s
            }
        }
    }
}

/// One joint (or gripper) of the rig.
#[expect(
    clippy::struct_excessive_bools,
    reason = "each is a fact that a profile declares by itself"
)]
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Joint {
    /// Name, from the profile, the struct or column names, the field metadata, or `j0`, `j1`, ….
    pub name: String,
    /// What it measures, as declared or recognised; [`Joint::kind`] also minds the flags below.
    #[serde(default)]
    pub kind: SignalKind,
    /// How that was decided; empty where nothing but the defaults did.
    #[serde(default)]
    pub kind_why: String,
    /// Why no dimension of the action belongs to it, if so.
    #[serde(default)]
    pub unpaired: Option<String>,
    /// Declared to be parked: it may stay still.
    #[serde(default)]
    pub parked: bool,
    /// Lower limit in radians (metres if linear), of the profile or the URDF.
    pub lower: Option<f64>,
    /// Upper limit in radians (metres if linear), of the profile or the URDF.
    pub upper: Option<f64>,
    /// Largest speed in rad/s (m/s if linear), of the profile or the URDF.
    pub max_speed: Option<f64>,
    /// Largest effort in Nm (N if linear), of the profile or the URDF.
    pub max_effort: Option<f64>,
    /// Largest temperature of its motor, in the unit of the table; of the profile only.
    pub max_temperature: Option<f64>,
    /// The arm it belongs to, where there are several.
    #[serde(default, serialize_with = "text", deserialize_with = "shared")]
    pub arm: Option<Arc<str>>,
    /// Stored values at its lower and upper limit, where they are not those of the unit.
    pub stored_range: Option<(f64, f64)>,
    /// A gripper: its commanded-minus-measured gap is the grasp force, so tracking leaves it out.
    pub gripper: bool,
    /// Taken for a gripper by its place alone, because nobody named the joints.
    pub gripper_by_place: bool,
    /// A linear joint: metres instead of radians.
    pub linear: bool,
    /// One count of the sensor in radians (metres), as declared or as seen in the data; 0 when
    /// the data shows no grid.
    pub count: f64,
    /// Minimum and maximum measured position seen in the survey of the dataset.
    pub observed: Option<(f64, f64)>,
}

impl Joint {
    /// Why a check that leaves grippers out says nothing of this joint, where that is a guess.
    pub const GRIPPER_BY_PLACE: &'static str = "nobody named the joints, so the last is taken for \
         a gripper: name it in the profile (gripper = false) to have it checked";

    /// A revolute joint of which nothing but the name is known.
    pub fn named(name: impl Into<String>) -> Self {
        Self {
            name: name.into(),
            kind: SignalKind::Revolute,
            kind_why: String::new(),
            unpaired: None,
            parked: false,
            lower: None,
            upper: None,
            max_speed: None,
            max_effort: None,
            max_temperature: None,
            arm: None,
            stored_range: None,
            gripper: false,
            gripper_by_place: false,
            linear: false,
            count: 0.0,
            observed: None,
        }
    }

    /// What it measures. A joint of which nothing was said is a gripper or slides by its flags.
    pub fn kind(&self) -> SignalKind {
        match self.kind {
            SignalKind::Revolute if self.gripper => SignalKind::GripperContinuous,
            SignalKind::Revolute if self.linear => SignalKind::Prismatic,
            kind => kind,
        }
    }
}

/// The rig, and what the survey of the dataset learnt of its clock.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Rig {
    /// Joints in the order of the table's vectors.
    pub joints: Vec<Joint>,
    /// Declared rate in hertz, if any.
    pub rate_hz: Option<f64>,
    /// Frame period `T` in seconds: median over the surveyed episodes of their median step;
    /// the declared period where stamps tell nothing; 0 if neither is known.
    pub period_s: f64,
    /// Usual length of an episode in seconds, of a dataset with enough of them.
    #[serde(default)]
    pub usual_s: Option<f64>,
    /// How stamps are stored.
    pub clock: ClockStorage,
    /// Unit the table stores its joints in.
    pub unit: AngleUnit,
    /// Whether that unit was declared; otherwise it was taken from the size of the values.
    pub unit_declared: bool,
    /// What a person should know of how the rig was understood: limits that were not found, scales
    /// that were assumed.
    pub notices: Vec<String>,
    /// How stored numbers become the joints, where that is not one to one.
    #[serde(default)]
    pub stored: Option<Stored>,
    /// Columns that say of an episode who recorded it, where, with what, as a profile names them.
    #[serde(default)]
    pub labels: Vec<String>,
    /// Optional columns that the table has.
    #[serde(deserialize_with = "known")]
    pub extras: Vec<Extra>,
    /// What the actions are, in relation to the state.
    #[serde(default)]
    pub actions: Actions,
}

#[expect(clippy::ref_option, reason = "serde hands fields over by reference")]
fn text<S: Serializer>(text: &Option<Arc<str>>, to: S) -> Result<S::Ok, S::Error> {
    text.as_deref().serialize(to)
}

fn shared<'de, D: Deserializer<'de>>(from: D) -> Result<Option<Arc<str>>, D::Error> {
    Ok(Option::<String>::deserialize(from)?.map(Arc::from))
}

/// A kind of columns that nobody knows here is of a later version, and so is every check that would
/// look at it.
fn known<'de, D: Deserializer<'de>>(from: D) -> Result<Vec<Extra>, D::Error> {
    let kind = |word: String| {
        let word: StringDeserializer<Unknown> = word.into_deserializer();
        Extra::deserialize(word).ok()
    };
    Ok(Vec::<String>::deserialize(from)?.into_iter().filter_map(kind).collect())
}

impl Default for Rig {
    /// A rig without joints, clock or period, in radians.
    fn default() -> Self {
        Self {
            joints: Vec::new(),
            rate_hz: None,
            period_s: 0.0,
            usual_s: None,
            clock: ClockStorage::None,
            unit: AngleUnit::Radian,
            unit_declared: false,
            notices: Vec::new(),
            stored: None,
            labels: Vec::new(),
            extras: Vec::new(),
            actions: Actions::default(),
        }
    }
}

impl Rig {
    /// The arms by name, each with its joints; none where the table holds one arm.
    pub fn arms(&self) -> Vec<(&str, Vec<usize>)> {
        let mut arms: Vec<(&str, Vec<usize>)> = Vec::new();
        for (joint, described) in self.joints.iter().enumerate() {
            let Some(arm) = described.arm.as_deref() else { continue };
            match arms.iter_mut().find(|(name, _)| *name == arm) {
                Some((_, joints)) => joints.push(joint),
                None => arms.push((arm, vec![joint])),
            }
        }
        arms
    }

    /// The joint's name; `j<n>` past the end.
    pub fn joint_name(&self, joint: JointId) -> &str {
        self.joints.get(joint as usize).map_or("j?", |j| j.name.as_str())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// As it stands in measurements files: names may not change, and what is added must have a
    /// default.
    #[test]
    fn a_rig_is_written_and_read_back_under_the_names_it_was_stored_with() -> serde_json::Result<()>
    {
        let mut jaw = Joint::named("jaw");
        (jaw.upper, jaw.arm, jaw.observed) = (Some(0.08), Some("left".into()), Some((0.0, 0.07)));
        let rig = Rig {
            joints: vec![jaw],
            clock: ClockStorage::Float { precision_bits: 24, scale_s: 1e-3 },
            extras: vec![Extra::Velocity, Extra::Cameras],
            ..Rig::default()
        };
        let text = serde_json::to_string(&rig)?;
        for part in [
            r#""clock":{"float":{"precision_bits":24,"scale_s":0.001}}"#,
            r#""extras":["velocity","camera"]"#,
            r#""arm":"left","stored_range":null"#,
            r#""observed":[0.0,0.07]"#,
        ] {
            assert!(text.contains(part), "{part}: {text}");
        }
        assert_eq!(serde_json::from_str::<Rig>(&text)?, rig);
        let later = text.replace("\"velocity\"", "\"magnetism\"");
        assert_eq!(serde_json::from_str::<Rig>(&later)?.extras, [Extra::Cameras]);
        Ok(())
    }
}
