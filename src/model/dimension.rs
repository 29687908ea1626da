//! A row of the table that a trainer normalises with.

/// Standard deviation that a dimension should at least have, in radians or metres: 0.1 degrees.
pub const LEAST_DEVIATION: f64 = 0.1 * std::f64::consts::PI / 180.0;

/// Where the ends are this many times as far apart as the 1 % and 99 % quantiles, few frames set
/// them.
const FAR: f64 = 5.0;
/// Beyond this the ends matter to anybody: 10 degrees.
const MATTERS: f64 = 10.0 * std::f64::consts::PI / 180.0;

/// One dimension of the state or the action over a dataset, in radians or metres.
#[derive(Debug, Clone, PartialEq)]
pub struct Dimension {
    /// Whether it is the leader's (action) or the follower's (state).
    pub leader: bool,
    /// The joint's place in the rig.
    pub joint: usize,
    /// Mean over all frames.
    pub mean: f64,
    /// Standard deviation, divided by the number of frames.
    pub deviation: f64,
    /// Least value of all frames.
    pub least: f64,
    /// Largest.
    pub largest: f64,
    /// 1 % quantile.
    pub low: f64,
    /// 99 % quantile.
    pub high: f64,
}

impl Dimension {
    /// Why normalising by this row would mislead; `None` if it would not. `least` is the deviation
    /// below which a dimension counts as constant.
    pub fn warning(&self, least: f64) -> Option<&'static str> {
        let range = self.largest - self.least;
        if self.deviation < least.max(1e-4 * range) {
            Some("constant: divided by its deviation, noise fills the scale")
        } else if range > FAR * (self.high - self.low) && range > MATTERS {
            Some("its ends are set by a few frames: scaled to them, the rest is squeezed")
        } else {
            None
        }
    }
}
