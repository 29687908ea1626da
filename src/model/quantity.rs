//! Numbers with a unit, as people write them: `5 deg`, `150 ms`, `2 %`.
//!
//! Profiles and options are read with this, and limits are printed with it. What is printed reads
//! back as the same number, to the last bit.

use super::quantity_words::{Dimension, Scale, fitting, named};
use super::unit::Unit;

/// A quantity that was read, in SI.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Quantity {
    /// The number, in the SI unit.
    pub value: f64,
    /// Whether its unit is one of linear joints: a length where an angle would do as well.
    pub linear: bool,
}

/// Why a text is not the quantity that is wanted, and what to write.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{what}")]
pub struct QuantityError {
    what: String,
    hint: String,
}

impl QuantityError {
    /// What to write.
    pub fn hint(&self) -> &str {
        &self.hint
    }
}

/// Reads a quantity of this unit; a text without a unit is in SI, as a bare number is.
///
/// # Errors
/// If it is no number, or its unit does not exist or is of another dimension.
pub fn read(text: &str, unit: Unit) -> Result<Quantity, QuantityError> {
    let wrong = |what: String| QuantityError { what, hint: fits(unit) };
    let (number, word) = split(text.trim());
    let what = format!("\"{text}\" is not a number with its unit");
    if word.starts_with(',') {
        let hint = format!("write a decimal point: \"{}\"", text.replacen(',', ".", 1));
        return Err(QuantityError { what, hint });
    }
    let Some(number) = Decimal::read(number) else { return Err(wrong(what)) };
    let finite = |value: f64, linear: bool| {
        if value.is_finite() { Ok(Quantity { value, linear }) } else { Err(wrong(what.clone())) }
    };
    if word.is_empty() {
        return finite(number.shifted(0), false);
    }
    let Some((dimension, scale)) = named(word) else {
        return Err(wrong(format!("\"{text}\": there is no unit \"{word}\"")));
    };
    if !dimension.fits(unit) {
        let (is, wanted) = (dimension.words(), Dimension::of(unit).words());
        return Err(wrong(format!("\"{text}\" is {is}, and {wanted} is wanted")));
    }
    let value = match scale {
        Scale::Decimal(shift) => number.shifted(shift),
        Scale::Times(factor) => number.shifted(0) * factor,
    };
    finite(value, matches!(dimension, Dimension::Length | Dimension::Speed))
}

/// Writes a number of this unit so that [`read`] gives it back: in degrees, milliseconds or
/// percent where that is exact.
pub fn written(value: f64, unit: Unit) -> String {
    let shifted = |shift: i32, word: &str| format!("{} {word}", plain(value, shift));
    match unit {
        Unit::Second if value != 0.0 && value.abs() < 1.0 => shifted(3, "ms"),
        Unit::Second => shifted(0, "s"),
        Unit::Radian => {
            in_degrees(value).map_or_else(|| shifted(0, "rad"), |text| format!("{text} deg"))
        }
        Unit::RadianPerSecond => {
            in_degrees(value).map_or_else(|| shifted(0, "rad/s"), |text| format!("{text} deg/s"))
        }
        Unit::Share => shifted(2, "%"),
        Unit::Hertz => shifted(0, "Hz"),
        Unit::Frames if value.abs() == 1.0 => shifted(0, "frame"),
        Unit::Frames => shifted(0, "frames"),
        Unit::Ratio | Unit::Count => plain(value, 0),
    }
}

/// What a bare number that is unlikely in SI most likely means.
pub fn unlikely(value: f64, unit: Unit) -> Option<String> {
    let (size, number) = (value.abs(), plain(value, 0));
    if !value.is_finite() {
        return None;
    }
    let rounded = |value: f64| format!("{:.*}", usize::from(value.abs() < 100.0), value);
    match unit {
        Unit::Radian if size > std::f64::consts::PI => {
            let degrees = rounded(value.to_degrees());
            Some(format!("{number} rad is {degrees} deg; for degrees write \"{number} deg\""))
        }
        Unit::Second if size > 60.0 => {
            let minutes = rounded(value / 60.0);
            Some(format!("{number} s is {minutes} minutes; for milliseconds write \"{number} ms\""))
        }
        Unit::Share if size > 1.0 => {
            let percent = plain(value, 2);
            Some(format!("{number} is {percent} %; for percent write \"{number} %\""))
        }
        _ => None,
    }
}

/// What may be written for a unit.
fn fits(unit: Unit) -> String {
    let bare = match unit {
        Unit::Count | Unit::Ratio | Unit::Share => "",
        _ => unit.symbol(),
    };
    let bare = if bare.is_empty() { String::new() } else { format!("; a bare number is {bare}") };
    format!("write {}{bare}", fitting(unit))
}

/// The number in front, and the unit behind it.
fn split(text: &str) -> (&str, &str) {
    let bytes = text.as_bytes();
    let digit = |at: usize| bytes.get(at).is_some_and(u8::is_ascii_digit);
    let mut end = 0;
    while let Some(byte) = bytes.get(end) {
        let sign = |at: usize| matches!(bytes.get(at), Some(b'+' | b'-'));
        end += match byte {
            b'0'..=b'9' | b'.' => 1,
            b'+' | b'-' if end == 0 => 1,
            b'e' | b'E' if end > 0 && digit(end + 1) => 1,
            b'e' | b'E' if end > 0 && sign(end + 1) && digit(end + 2) => 2,
            _ => break,
        };
    }
    (&text[..end], text[end..].trim())
}

/// A decimal number as it was written, so that a shift of its point costs no precision.
struct Decimal<'a> {
    digits: &'a str,
    exponent: i32,
}

impl<'a> Decimal<'a> {
    fn read(text: &'a str) -> Option<Self> {
        let (digits, exponent) = text.split_once(['e', 'E']).unwrap_or((text, "0"));
        let number = Self { digits, exponent: exponent.parse().ok()? };
        // What is too large by itself may be a number in its unit: a share in percent.
        (!number.shifted(0).is_nan()).then_some(number)
    }

    /// The number times ten to this power; not a number if it is none.
    fn shifted(&self, power: i32) -> f64 {
        let exponent = self.exponent.saturating_add(power);
        format!("{}e{exponent}", self.digits).parse().unwrap_or(f64::NAN)
    }
}

/// The shortest decimal number that is this one, with its point moved by so many places.
fn plain(value: f64, shift: i32) -> String {
    let text = format!("{value:e}");
    let Some((digits, exponent)) = text.split_once('e') else { return value.to_string() };
    let exponent = exponent.parse::<i32>().unwrap_or(0) + shift;
    let (sign, digits) = digits.strip_prefix('-').map_or(("", digits), |rest| ("-", rest));
    let digits: String = digits.chars().filter(char::is_ascii_digit).collect();
    if value == 0.0 {
        return "0".to_owned();
    }
    let length = i32::try_from(digits.len()).unwrap_or(i32::MAX);
    let zeros = |count: i32| "0".repeat(usize::try_from(count).unwrap_or(0));
    match exponent {
        // Too many zeros to read.
        ..=-8 | 16.. => format!("{sign}{digits}e{}", exponent - length + 1),
        ..=-1 => format!("{sign}0.{}{digits}", zeros(-exponent - 1)),
        _ if exponent + 1 >= length => format!("{sign}{digits}{}", zeros(exponent + 1 - length)),
        _ => {
            let (whole, part) = digits.split_at(usize::try_from(exponent + 1).unwrap_or(0));
            format!("{sign}{whole}.{part}")
        }
    }
}

/// The shortest number of degrees that is exactly this angle, if it is a short one.
fn in_degrees(radian: f64) -> Option<String> {
    let degrees = radian.to_degrees();
    (0..=9).map(|digits| format!("{degrees:.digits$}")).find_map(|text| {
        let exact = text.parse().is_ok_and(|degrees: f64| degrees.to_radians() == radian);
        exact.then_some(text)
    })
}

#[cfg(test)]
mod tests;
