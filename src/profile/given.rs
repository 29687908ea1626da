//! Numbers of the file: bare, or text with a unit.

use std::fmt;
use std::ops::Range;

use serde::de::{self, Deserialize, Deserializer, Visitor};
use serde::{Serialize, Serializer};
use toml::Spanned;

use super::error::ProfileError;
use super::place::Place;
use crate::model::Unit;
use crate::model::quantity::{self, Quantity};

/// A number as the file gives it.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Given {
    /// In the SI unit of what it is of.
    Bare(f64),
    /// With its unit: `"5 deg"`.
    Text(String),
}

impl Given {
    /// The number as it is best written: with its unit where it has one.
    pub fn written(value: f64, unit: Unit) -> Self {
        match unit {
            Unit::Ratio | Unit::Count => Self::Bare(value),
            _ if !value.is_finite() => Self::Bare(value),
            _ => Self::Text(quantity::written(value, unit)),
        }
    }
}

impl fmt::Display for Given {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Bare(value) => write!(f, "{value}"),
            Self::Text(text) => write!(f, "\"{text}\""),
        }
    }
}

impl Serialize for Given {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        match self {
            Self::Bare(value) => serializer.serialize_f64(*value),
            Self::Text(text) => serializer.serialize_str(text),
        }
    }
}

impl<'de> Deserialize<'de> for Given {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        deserializer.deserialize_any(Either)
    }
}

struct Either;

impl Visitor<'_> for Either {
    type Value = Given;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a number, or a number with its unit such as \"5 deg\"")
    }

    fn visit_f64<E: de::Error>(self, value: f64) -> Result<Given, E> {
        Ok(Given::Bare(value))
    }

    fn visit_i64<E: de::Error>(self, value: i64) -> Result<Given, E> {
        Ok(Given::Bare(value as f64))
    }

    fn visit_u64<E: de::Error>(self, value: u64) -> Result<Given, E> {
        Ok(Given::Bare(value as f64))
    }

    fn visit_str<E: de::Error>(self, text: &str) -> Result<Given, E> {
        Ok(Given::Text(text.to_owned()))
    }
}

/// Reads numbers, and notes those that most likely mean something else.
pub(super) struct Reader<'a> {
    pub place: &'a Place<'a>,
    /// Whether the rig has no joints but linear ones, as far as the profile says.
    pub linear: bool,
    /// With where they are in the file.
    pub warnings: Vec<(usize, String)>,
}

impl Reader<'_> {
    /// The number in SI; `key` is what errors and warnings call it.
    pub fn number(
        &mut self,
        given: &Spanned<Given>,
        unit: Unit,
        key: &str,
    ) -> Result<f64, ProfileError> {
        match given.get_ref() {
            Given::Bare(value) => {
                if let Some(likely) = quantity::unlikely(*value, unit) {
                    self.warn(given.span(), &format!("{key} = {value}: {likely}"));
                }
                // Of a rig that only slides, bare numbers are metres.
                Ok(if self.linear { *value / unit.on_linear() } else { *value })
            }
            Given::Text(text) => {
                let read = quantity::read(text, unit);
                let Quantity { value, linear } = read.map_err(|error| {
                    self.place.wrong(given.span(), format!("{key}: {error}"), error.hint())
                })?;
                let value = if linear { value / unit.on_linear() } else { value };
                if linear && !self.linear {
                    let also = quantity::written(value, unit);
                    self.warn(
                        given.span(),
                        &format!(
                            "{key} = \"{text}\": one number holds for all joints, and for those \
                             that turn it is {also}"
                        ),
                    );
                }
                Ok(value)
            }
        }
    }

    /// The warnings, in the order of the file.
    pub fn said(mut self) -> Vec<String> {
        self.warnings.sort_unstable();
        self.warnings.into_iter().map(|(_, text)| text).collect()
    }

    fn warn(&mut self, span: Range<usize>, what: &str) {
        let start = span.start;
        self.warnings.push((start, self.place.wrong(span, what, "").to_string()));
    }
}
