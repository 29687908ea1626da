//! Units of readings, and the units a table may hold its joints in.

use serde::{Deserialize, Serialize};

/// The unit of a reading. SI inside; degrees and milliseconds are for the renderers only.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Unit {
    /// Time in seconds (`s`).
    #[serde(rename = "s")]
    Second,
    /// Angle in radians (`rad`); a joint declared linear holds metres instead.
    #[serde(rename = "rad")]
    Radian,
    /// Angular speed in radians per second (`rad/s`).
    #[serde(rename = "rad/s")]
    RadianPerSecond,
    /// A ratio without dimension: a gain, a correlation, a multiple.
    Ratio,
    /// A part of a whole (frames, values, motion): `ratio` to machines, percent to people.
    #[serde(rename(serialize = "ratio"))]
    Share,
    /// A number of frames, values or events.
    Count,
    /// Frequency in hertz (`Hz`).
    #[serde(rename = "Hz")]
    Hertz,
    /// A duration in frame periods.
    Frames,
}

/// Metres of a linear joint that are judged like a radian of one that turns: 2 mm a degree
/// (engineering judgement, no source).
pub const METRES_A_RADIAN: f64 = 0.002 * 180.0 / std::f64::consts::PI;

impl Unit {
    /// What a limit in this unit is multiplied by on a linear joint, whose readings are in metres.
    pub const fn on_linear(self) -> f64 {
        match self {
            Self::Radian | Self::RadianPerSecond => METRES_A_RADIAN,
            // Named one by one: whoever adds a unit decides.
            Self::Second | Self::Ratio | Self::Share | Self::Count | Self::Hertz | Self::Frames => {
                1.0
            }
        }
    }

    /// The unit as written in machine-readable output.
    pub const fn symbol(self) -> &'static str {
        match self {
            Self::Second => "s",
            Self::Radian => "rad",
            Self::RadianPerSecond => "rad/s",
            Self::Ratio | Self::Share => "ratio",
            Self::Count => "count",
            Self::Hertz => "Hz",
            Self::Frames => "frames",
        }
    }
}

/// The unit a table's joint values are stored in, converted to SI once, in the source.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum AngleUnit {
    /// Radians (or metres for a linear joint): stored as they are.
    #[serde(rename = "rad")]
    Radian,
    /// Degrees.
    #[serde(rename = "deg")]
    Degree,
    /// Encoder counts, with this many to a turn.
    Counts {
        /// Counts of one full turn.
        per_turn: f64,
    },
    /// A share of each joint's travel.
    Normalized {
        /// Stored value at the lower end of the travel.
        low: f64,
        /// Stored value at the upper end.
        high: f64,
    },
}

impl AngleUnit {
    /// What a stored value is multiplied by to give radians. A normalised value has no angle of
    /// its own: its whole range counts as half a turn, unless a joint's travel is known.
    pub fn to_radian(self) -> f64 {
        match self {
            Self::Radian => 1.0,
            Self::Degree => std::f64::consts::PI / 180.0,
            Self::Counts { per_turn } => 2.0 * std::f64::consts::PI / per_turn,
            Self::Normalized { low, high } => std::f64::consts::PI / (high - low),
        }
    }

    /// The unit's name as a profile writes it.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Radian => "rad",
            Self::Degree => "deg",
            Self::Counts { .. } => "counts",
            Self::Normalized { .. } => "normalized",
        }
    }
}
