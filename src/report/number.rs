//! Numbers for people: three significant digits, degrees and milliseconds.

use crate::model::{Metric, Unit};

/// Three significant digits; whole numbers stay whole.
pub fn significant(value: f64) -> String {
    if value == 0.0 {
        return "0".to_owned();
    }
    if !value.is_finite() {
        return "-".to_owned();
    }
    // Rounded first: 9.996 has its three digits as 10.0, not as 10.00.
    let rounded = format!("{value:.2e}");
    let exponent = rounded.split_once('e').and_then(|(_, e)| e.parse::<i32>().ok()).unwrap_or(0);
    match exponent {
        ..=-3 => format!("{value:.0e}"),
        6.. => format!("{value:.1e}"),
        exponent => format!("{value:.*}", usize::try_from(2 - exponent).unwrap_or(0)),
    }
}

/// The smallest of 1, 2 and 5 times a power of ten that is not less: the distance of ticks on an axis.
pub(super) fn nice_step(value: f64) -> f64 {
    if !(value.is_finite() && value > 0.0) {
        return 1.0;
    }
    let power = 10f64.powf(value.log10().floor());
    let steps = [1.0, 2.0, 5.0, 10.0].map(|times| times * power);
    steps.into_iter().find(|step| *step >= value * 0.999).unwrap_or(10.0 * power)
}

/// A measurement's unit as a person is shown it, and the factor to it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Human {
    /// Name of the unit, possibly empty: `deg`, `ms`, `%`.
    pub unit: &'static str,
    factor: f64,
    whole: bool,
}

impl Human {
    /// The unit for a measurement; `typical` (its limit, else a value) decides between
    /// milliseconds and seconds, and between a share in percent and a multiple.
    pub fn of(metric: &Metric, linear: bool, typical: f64) -> Self {
        let human = |unit, factor| Self { unit, factor, whole: false };
        match metric.unit {
            Unit::Second if typical.abs() < 1.0 => human("ms", 1e3),
            Unit::Second => human("s", 1.0),
            Unit::Radian if linear => human("mm", 1e3),
            Unit::Radian => human("deg", 180.0 / std::f64::consts::PI),
            Unit::RadianPerSecond if linear => human("mm/s", 1e3),
            Unit::RadianPerSecond => human("deg/s", 180.0 / std::f64::consts::PI),
            Unit::Share => human("%", 1e2),
            Unit::Ratio if typical.abs() < 1.0 => human("%", 1e2),
            Unit::Ratio => human("x", 1.0),
            Unit::Count => Self { unit: "", factor: 1.0, whole: true },
            Unit::Hertz => human("Hz", 1.0),
            Unit::Frames => human("frames", 1.0),
        }
    }

    /// What an SI value is multiplied by.
    pub(super) fn factor(self) -> f64 {
        self.factor
    }

    /// The number alone, in this unit.
    pub fn number(self, value: f64) -> String {
        let value = value * self.factor;
        if self.whole && value.fract() == 0.0 && value.abs() < 1e6 {
            return format!("{value:.0}");
        }
        significant(value)
    }

    /// Number and unit.
    pub fn quantity(self, value: f64) -> String {
        match self.unit {
            "" => self.number(value),
            unit => format!("{} {unit}", self.number(value)),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::{nice_step, significant};

    #[test]
    fn three_digits_and_no_more() {
        let cases = [
            (0.0, "0"),
            (0.51, "0.510"),
            (1.0, "1.00"),
            (9.996, "10.0"),
            (233.4, "233"),
            (-14.28, "-14.3"),
            (99_951.0, "99951"),
            (0.0123, "0.0123"),
            (0.00042, "4e-4"),
            (12_345_678.0, "1.2e7"),
        ];
        for (value, text) in cases {
            assert_eq!(significant(value), text, "{value}");
        }
    }

    #[test]
    fn ticks_stand_at_one_two_and_five() {
        for (value, step) in [(0.9, 1.0), (1.0, 1.0), (1.1, 2.0), (30.0, 50.0), (60.0, 100.0)] {
            assert!((nice_step(value) / step - 1.0).abs() < 1e-9, "{value}");
        }
        assert!((nice_step(0.0) - 1.0).abs() < 1e-9 && (nice_step(0.03) - 0.05).abs() < 1e-9);
    }
}
