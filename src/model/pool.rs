//! How a measurement is judged for a whole session.

use super::metric::{Bound, Metric};

/// How a session judges a measurement on the evidence of all its episodes together, rather than by
/// how many of them speak up. For what is of the rig and not of the take: a sign, a neutral point.
#[derive(Debug, Clone, Copy)]
pub enum Pool {
    /// The median of its readings, held against its own limits.
    Own,
    /// How far the median of a signed measurement is from its neutral value, held against this
    /// measurement's own limits. What scatters about the neutral value cancels, where sizes would
    /// add up.
    About {
        /// The signed measurement, read wherever this one is.
        signed: &'static Metric,
        /// Its value where nothing is wrong.
        neutral: f64,
    },
    /// As [`Pool::Own`], and also against limits that no single episode could be held to, once there are
    /// enough episodes for a 95 % interval and all of it lies beyond.
    Session(Bound),
}
