//! The units that people write, and what each of them measures.

use super::unit::Unit;

/// What a written unit measures.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Dimension {
    Time,
    Angle,
    Length,
    AngularSpeed,
    Speed,
    Percent,
    Multiple,
    Frequency,
    Frames,
    Number,
}

/// How a number of a written unit becomes SI.
#[derive(Debug, Clone, Copy)]
pub(super) enum Scale {
    /// Times ten to this power.
    Decimal(i32),
    /// Times this.
    Times(f64),
}

impl Dimension {
    /// The dimension of a unit.
    pub fn of(unit: Unit) -> Self {
        match unit {
            Unit::Second => Self::Time,
            Unit::Radian => Self::Angle,
            Unit::RadianPerSecond => Self::AngularSpeed,
            Unit::Share => Self::Percent,
            Unit::Ratio => Self::Multiple,
            Unit::Hertz => Self::Frequency,
            Unit::Frames => Self::Frames,
            Unit::Count => Self::Number,
        }
    }

    /// Whether a unit may be written in it. A linear joint has lengths where others have angles.
    pub fn fits(self, unit: Unit) -> bool {
        let besides = matches!(
            (self, unit),
            (Self::Length, Unit::Radian)
                | (Self::Speed, Unit::RadianPerSecond)
                | (Self::Percent, Unit::Ratio)
                | (Self::Frames, Unit::Count)
        );
        self == Self::of(unit) || besides
    }

    /// In words, with an article.
    pub fn words(self) -> &'static str {
        match self {
            Self::Time => "a time",
            Self::Angle => "an angle",
            Self::Length => "a length",
            Self::AngularSpeed => "an angular speed",
            Self::Speed => "a speed",
            Self::Percent => "a share",
            Self::Multiple => "a ratio",
            Self::Frequency => "a frequency",
            Self::Frames => "a number of frames",
            Self::Number => "a plain number",
        }
    }
}

/// What may be written for a unit, in words.
pub(super) fn fitting(unit: Unit) -> &'static str {
    match unit {
        Unit::Second => "s, ms, us, ns or min, such as \"150 ms\"",
        Unit::Radian => "deg, rad or mrad (m, cm or mm for linear joints), such as \"5 deg\"",
        Unit::RadianPerSecond => {
            "deg/s, rad/s or rpm (m/s, cm/s or mm/s for linear joints), such as \"30 deg/s\""
        }
        Unit::Share => "a percentage such as \"2 %\", or the bare share 0.02",
        Unit::Ratio => "a bare number such as 1.5, or a percentage such as \"80 %\"",
        Unit::Hertz => "Hz or kHz, such as \"30 Hz\"",
        Unit::Frames => "frames, such as \"2 frames\"",
        Unit::Count => "a bare number such as 20",
    }
}

/// The unit of this word, in any case.
pub(super) fn named(word: &str) -> Option<(Dimension, Scale)> {
    use Dimension::{
        Angle, AngularSpeed, Frames, Frequency, Length, Multiple, Percent, Speed, Time,
    };
    const TURN: f64 = std::f64::consts::TAU;
    const DEGREE: f64 = std::f64::consts::PI / 180.0;
    let word = word.to_lowercase();
    Some(match word.as_str() {
        "s" | "sec" | "second" | "seconds" => (Time, Scale::Decimal(0)),
        "ms" | "msec" | "millisecond" | "milliseconds" => (Time, Scale::Decimal(-3)),
        // The micro sign and the Greek letter look the same.
        "us" | "\u{b5}s" | "\u{3bc}s" => (Time, Scale::Decimal(-6)),
        "ns" => (Time, Scale::Decimal(-9)),
        "min" | "minute" | "minutes" => (Time, Scale::Times(60.0)),
        "rad" | "radian" | "radians" => (Angle, Scale::Decimal(0)),
        "mrad" => (Angle, Scale::Decimal(-3)),
        "deg" | "degree" | "degrees" | "\u{b0}" => (Angle, Scale::Times(DEGREE)),
        "turn" | "turns" => (Angle, Scale::Times(TURN)),
        "m" => (Length, Scale::Decimal(0)),
        "cm" => (Length, Scale::Decimal(-2)),
        "mm" => (Length, Scale::Decimal(-3)),
        "um" | "\u{b5}m" | "\u{3bc}m" => (Length, Scale::Decimal(-6)),
        "rad/s" => (AngularSpeed, Scale::Decimal(0)),
        "mrad/s" => (AngularSpeed, Scale::Decimal(-3)),
        "deg/s" | "\u{b0}/s" => (AngularSpeed, Scale::Times(DEGREE)),
        "rpm" => (AngularSpeed, Scale::Times(TURN / 60.0)),
        "m/s" => (Speed, Scale::Decimal(0)),
        "cm/s" => (Speed, Scale::Decimal(-2)),
        "mm/s" => (Speed, Scale::Decimal(-3)),
        "%" | "percent" => (Percent, Scale::Decimal(-2)),
        "x" | "times" => (Multiple, Scale::Decimal(0)),
        "hz" | "fps" | "1/s" => (Frequency, Scale::Decimal(0)),
        "khz" => (Frequency, Scale::Decimal(3)),
        "frame" | "frames" => (Frames, Scale::Decimal(0)),
        _ => return None,
    })
}
