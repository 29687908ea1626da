//! The checks: checks that read one episode and write down measurements.
//!
//! Floor 2: knows [`crate::model`] and [`crate::num`]. A check knows no thresholds beyond the
//! defaults it declares; holding numbers against limits is the business of [`crate::judge`].

mod registry;
pub mod study;
#[cfg(test)]
mod testing;

pub mod base;
pub mod cameras;
pub mod limits;
pub mod mapping;
pub mod motion;
pub mod signal;
pub mod timing;
pub mod tracking;

use std::collections::BTreeMap;

use crate::model::{CheckSpec, Extra, Param, Rig, Sheet};

pub use registry::{CHECKS, find};
pub use study::Study;

/// An instrument: looks at one episode, writes on its sheet.
pub trait Check: Sync {
    /// What the check declares of itself.
    fn spec(&self) -> &'static CheckSpec;

    /// Optional columns that it looks at where the table has them.
    fn extras(&self) -> &'static [Extra] {
        &[]
    }

    /// What there is none of, if that leaves nothing to look at on this rig: the check is then left
    /// out and makes no hole in any card.
    fn without(&self, _rig: &Rig) -> Option<&'static str> {
        None
    }

    /// Measures one episode.
    fn measure(&self, study: &Study<'_>, params: &Params, sheet: &mut Sheet);
}

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
