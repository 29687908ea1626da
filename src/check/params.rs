//! Parameters of the checks.

use std::collections::BTreeMap;

use crate::model::{CheckSpec, Param};

/// Parameters in force: the profile's values over the checks' defaults.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Params(BTreeMap<(&'static str, &'static str), f64>);

impl Params {
    /// Sets a parameter of a check.
    pub fn set(&mut self, check: &CheckSpec, param: &Param, value: f64) {
        self.0.insert((check.id, param.id), value);
    }

    /// The value in force.
    pub fn get(&self, check: &CheckSpec, param: &Param) -> f64 {
        self.0.get(&(check.id, param.id)).copied().unwrap_or(param.default)
    }
}
